// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "turtle.h"

#include "port.h"
#include "window.h"

#include "plugin_list.h"

#include "plugins/shell.h"
#include "ttl/writer/turtle_writer.h"

#include <lv2/core/lv2.h>
#include <lv2/options/options.h>
#include <lv2/port-groups/port-groups.h>
#include <lv2/port-props/port-props.h>
#include <lv2/ui/ui.h>
#include <lv2/units/units.h>

#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define DOAP "http://usefulinc.com/ns/doap#"
#define FOAF "http://xmlns.com/foaf/0.1/"

#define LICENSE_URI "https://spdx.org/licenses/ISC"
#define PROJECT_URI "urn:dustcap"

enum { GROUP_SYMBOL_SIZE = 24 };
#define METER_GROUP "meters"

static const turtle_prefix prefixes[] = {
  {"doap", DOAP},
  {"foaf", FOAF},
  {"lv2", LV2_CORE_PREFIX},
  {"pg", LV2_PORT_GROUPS_PREFIX},
  {"pprops", LV2_PORT_PROPS_PREFIX},
  {"rdf", TURTLE_RDF},
  {"rdfs", TURTLE_RDFS},
  {"units", LV2_UNITS_PREFIX},
};

static const turtle_prefix window_prefixes[] = {
  {"lv2", LV2_CORE_PREFIX}, {"opts", LV2_OPTIONS_PREFIX},
  {"rdf", TURTLE_RDF},      {"rdfs", TURTLE_RDFS},
  {"ui", LV2_UI_PREFIX},    {"urid", "http://lv2plug.in/ns/ext/urid#"},
};

static void
write_audio_group(turtle_writer* w,
                  const char*    uri,
                  const char*    side,
                  uint32_t       n)
{
  const bool is_input = !strcmp(side, "in");

  turtle_writer_subject(w, "%s#main_%s", uri, side);
  turtle_writer_uri(w, TURTLE_RDF_TYPE, "%s",
                    n == 1 ? LV2_PORT_GROUPS__MonoGroup
                           : LV2_PORT_GROUPS__StereoGroup);
  turtle_writer_uri(w, TURTLE_RDF_TYPE, "%s",
                    is_input ? LV2_PORT_GROUPS__InputGroup
                             : LV2_PORT_GROUPS__OutputGroup);
  if (!is_input) {
    turtle_writer_uri(w, LV2_PORT_GROUPS__source, "%s#main_in", uri);
  }
  turtle_writer_text(w, LV2_CORE__symbol, "main_%s", side);
  turtle_writer_text(w, LV2_CORE__name, "%s", is_input ? "Input" : "Output");
}

/// A heading and what it is over.  Hosts sort groups by URI: hence the numbers,
/// and the meters last.
static void
write_control_group(turtle_writer* w,
                    const char*    uri,
                    const char*    symbol,
                    const char*    name,
                    const char*    type)
{
  turtle_writer_subject(w, "%s#%s", uri, symbol);
  turtle_writer_uri(w, TURTLE_RDF_TYPE, "%s", type);
  turtle_writer_text(w, LV2_CORE__symbol, "%s", symbol);
  turtle_writer_text(w, LV2_CORE__name, "%s", name);
}

static void
group_symbol(uint32_t group, char symbol[GROUP_SYMBOL_SIZE])
{
  (void)snprintf(symbol, GROUP_SYMBOL_SIZE, "controls_%u", group + 1U);
}

static void
write_groups(turtle_writer* w, const plugin_form* form)
{
  const plugin* const p = form->plugin;
  char                symbol[GROUP_SYMBOL_SIZE];

  for (uint32_t g = 0; g < shell_group_count(p); ++g) {
    group_symbol(g, symbol);
    write_control_group(w, form->uri, symbol, shell_group_name(p, g),
                        LV2_PORT_GROUPS__InputGroup);
  }
  write_control_group(w, form->uri, METER_GROUP, "Meters",
                      LV2_PORT_GROUPS__OutputGroup);
  write_audio_group(w, form->uri, "in", form->n_in);
  write_audio_group(w, form->uri, "out", form->n_out);
}

static const char*
form_suffix(const plugin_form* form)
{
  return form->is_stereo_form ? " (stereo)" : "";
}

/// Writes the URI's last part as a C identifier: hosts build file names from it
static void
write_symbol(turtle_writer* w, const plugin_form* form)
{
  char symbol[sizeof(form->uri)];
  (void)snprintf(symbol, sizeof(symbol), "%s",
                 form->uri + strlen(SHELL_URI_PREFIX));
  for (char* c = symbol; *c; ++c) {
    *c = *c == '-' ? '_' : *c;
  }
  turtle_writer_text(w, LV2_CORE__symbol, "%s", symbol);
}

static void
write_description(turtle_writer* w, const plugin_form* form)
{
  const plugin* const p = form->plugin;

  turtle_writer_uri(w, TURTLE_RDF_TYPE, LV2_CORE__Plugin);
  turtle_writer_uri(w, TURTLE_RDF_TYPE, LV2_CORE_PREFIX "%s", p->type);
  turtle_writer_text(w, DOAP "name", "%s%s", p->name, form_suffix(form));
  write_symbol(w, form);
  turtle_writer_text(w, DOAP "shortdesc", "%s", p->summary);
  turtle_writer_text(w, TURTLE_RDFS "comment",
                     "%s Made for playing at %.0f dBFS RMS.", p->summary,
                     ALIGN_RMS_DBFS);
  turtle_writer_uri(w, DOAP "license", LICENSE_URI);
  turtle_writer_uri(w, LV2_CORE__project, PROJECT_URI);
  turtle_writer_integer(w, LV2_CORE__minorVersion, DUSTCAP_MINOR);
  turtle_writer_integer(w, LV2_CORE__microVersion, DUSTCAP_MICRO);
  turtle_writer_uri(w, LV2_CORE__optionalFeature, LV2_CORE__hardRTCapable);
  turtle_writer_uri(w, LV2_PORT_GROUPS__mainInput, "%s#main_in", form->uri);
  turtle_writer_uri(w, LV2_PORT_GROUPS__mainOutput, "%s#main_out", form->uri);
}

static void
write_controls(turtle_writer* w, const plugin_form* form)
{
  const plugin* const p        = form->plugin;
  const uint32_t      n_params = shell_param_count(p);
  char                symbol[GROUP_SYMBOL_SIZE];
  char                group[sizeof(form->uri) + GROUP_SYMBOL_SIZE];

  for (uint32_t i = 0; i < n_params; ++i) {
    group_symbol(shell_group_of(p, i), symbol);
    (void)snprintf(group, sizeof(group), "%s#%s", form->uri, symbol);
    port_write_input(w, i, group, shell_priority(p, i), shell_param(p, i));
  }
  (void)snprintf(group, sizeof(group), "%s#" METER_GROUP, form->uri);
  for (uint32_t i = 0; i < shell_meter_count(p); ++i) {
    port_write_output(w, n_params + i, group, shell_meter(p, i));
  }
}

static void
write_form(turtle_writer* w, const plugin_form* form)
{
  const uint32_t index =
    shell_param_count(form->plugin) + shell_meter_count(form->plugin);

  turtle_writer_subject(w, "%s", form->uri);
  write_description(w, form);
  write_controls(w, form);
  port_write_audio(w, index, form->uri, "in", form->n_in);
  port_write_audio(w, index + form->n_in, form->uri, "out", form->n_out);
  write_groups(w, form);
}

static void
write_project(turtle_writer* w)
{
  turtle_writer_subject(w, PROJECT_URI);
  turtle_writer_uri(w, TURTLE_RDF_TYPE, DOAP "Project");
  turtle_writer_text(w, DOAP "name", "Dustcap");
  turtle_writer_text(w, LV2_CORE__symbol, "dustcap");
  turtle_writer_uri(w, DOAP "license", LICENSE_URI);
  turtle_writer_begin_node(w, DOAP "maintainer");
  turtle_writer_uri(w, TURTLE_RDF_TYPE, FOAF "Person");
  turtle_writer_text(w, FOAF "name", "The Dustcap authors");
  turtle_writer_end_node(w);
}

/// Writes the manifest's entry of each plugin
static void
write_entries(turtle_writer* w)
{
  const plugin* p = NULL;

  for (uint32_t n = 0; (p = shell_plugin(n)); ++n) {
    for (uint32_t i = 0; i < shell_form_count(p); ++i) {
      const plugin_form form = shell_form(p, i);
      turtle_writer_subject(w, "%s", form.uri);
      turtle_writer_uri(w, TURTLE_RDF_TYPE, LV2_CORE__Plugin);
      turtle_writer_uri(w, LV2_CORE__binary, "dustcap.so");
      turtle_writer_uri(w, TURTLE_RDFS "seeAlso", "%s.ttl", p->stem);
    }
  }
}

/// What a file begins with
#define COMMENT "Written from the tables of controls by: ./dev ttl"

/// Opens a file; exits with its name if that is impossible
static void
open_file(turtle_writer*       w,
          const char*          folder,
          const char*          name,
          const turtle_prefix* names,
          size_t               n_names)
{
  char path[1024];
  (void)snprintf(path, sizeof(path), "%s/%s.ttl", folder, name);
  if (!turtle_writer_open(w, path, false, COMMENT, names, (uint32_t)n_names)) {
    perror(path);
    exit(1);
  }
}

static void
close_file(turtle_writer* w, const char* name)
{
  if (!turtle_writer_close(w)) {
    perror(name);
    exit(1);
  }
}

#define N_OF(array) (sizeof(array) / sizeof(*(array)))

/// Writes the manifest, or the file of a plugin
static void
write_file(const char* folder, const plugin* p)
{
  const char* const name = p ? p->stem : "manifest";
  turtle_writer     w;
  open_file(&w, folder, name, prefixes, N_OF(prefixes));
  if (p) {
    for (uint32_t i = 0; i < shell_form_count(p); ++i) {
      const plugin_form form = shell_form(p, i);
      write_form(&w, &form);
    }
  } else {
    write_project(&w);
    write_entries(&w);
  }
  close_file(&w, name);
}

/// Writes a file of the windows
static void
write_windows(const char* folder,
              const char* name,
              void (*write)(turtle_writer*))
{
  turtle_writer w;
  open_file(&w, folder, name, window_prefixes, N_OF(window_prefixes));
  write(&w);
  close_file(&w, name);
}

void
turtle_write(const char* folder)
{
  const plugin* p = NULL;

  write_file(folder, NULL);
  write_windows(folder, "manifest.windows", window_write_entries);
  write_windows(folder, "windows", window_write);
  for (uint32_t n = 0; (p = shell_plugin(n)); ++n) {
    write_file(folder, p);
  }
}
