// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "turtle.h"

#include "port.h"

#include "plugin_list.h"

#include "plugins/shell.h"

#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define PREFIXES                                                   \
  "@prefix doap: <http://usefulinc.com/ns/doap#> .\n"              \
  "@prefix foaf: <http://xmlns.com/foaf/0.1/> .\n"                 \
  "@prefix lv2: <http://lv2plug.in/ns/lv2core#> .\n"               \
  "@prefix pg: <http://lv2plug.in/ns/ext/port-groups#> .\n"        \
  "@prefix pprops: <http://lv2plug.in/ns/ext/port-props#> .\n"     \
  "@prefix rdf: <http://www.w3.org/1999/02/22-rdf-syntax-ns#> .\n" \
  "@prefix rdfs: <http://www.w3.org/2000/01/rdf-schema#> .\n"      \
  "@prefix units: <http://lv2plug.in/ns/extensions/units#> .\n\n"

static void
print_group(FILE* f, const char* uri, const char* side, uint32_t n)
{
  const bool is_input = !strcmp(side, "in");

  fprintf(f, "\n<%s#main_%s>\n\ta pg:%s ,\n\t\tpg:%sGroup ;\n", uri, side,
          n == 1 ? "MonoGroup" : "StereoGroup", is_input ? "Input" : "Output");
  if (!is_input) {
    fprintf(f, "\tpg:source <%s#main_in> ;\n", uri);
  }
  fprintf(f, "\tlv2:symbol \"main_%s\" ;\n\tlv2:name \"%s\" .\n", side,
          is_input ? "Input" : "Output");
}

static const char*
form_suffix(const plugin_form* form)
{
  return form->is_stereo_form ? " (stereo)" : "";
}

/// The URI's last part as a C identifier: hosts build file names from it
static void
print_symbol(FILE* f, const plugin_form* form)
{
  fprintf(f, "\tlv2:symbol \"");
  for (const char* c = form->uri + strlen(SHELL_URI_PREFIX); *c; ++c) {
    fputc(*c == '-' ? '_' : *c, f);
  }
  fprintf(f, "\" ;\n");
}

static void
print_form(FILE* f, const plugin_form* form)
{
  const plugin* p     = form->plugin;
  uint32_t      index = 0;

  fprintf(f, "<%s>\n\ta lv2:Plugin ,\n\t\tlv2:%s ;\n", form->uri, p->type);
  fprintf(f, "\tdoap:name \"%s%s\" ;\n", p->name, form_suffix(form));
  print_symbol(f, form);
  fprintf(f, "\tdoap:shortdesc \"%s\" ;\n", p->summary);
  fprintf(f, "\trdfs:comment \"%s Made for playing at %.0f dBFS RMS.\" ;\n",
          p->summary, ALIGN_RMS_DBFS);
  fprintf(f, "\tdoap:license <https://spdx.org/licenses/ISC> ;\n"
             "\tlv2:project <urn:dustcap> ;\n");
  fprintf(f, "\tlv2:minorVersion %d ;\n\tlv2:microVersion %d ;\n",
          DUSTCAP_MINOR, DUSTCAP_MICRO);
  fprintf(f, "\tlv2:optionalFeature lv2:hardRTCapable ;\n");
  fprintf(f, "\tpg:mainInput <%s#main_in> ;\n\tpg:mainOutput <%s#main_out> ;\n",
          form->uri, form->uri);

  for (uint32_t i = 0; i < shell_param_count(p); ++i) {
    port_print_input(f, index++, shell_param(p, i));
  }
  for (uint32_t i = 0; i < shell_meter_count(p); ++i) {
    port_print_output(f, index++, shell_meter(p, i));
  }
  port_print_audio(f, index, form->uri, "in", form->n_in);
  port_print_audio(f, index + form->n_in, form->uri, "out", form->n_out);
  fprintf(f, " .\n");
  print_group(f, form->uri, "in", form->n_in);
  print_group(f, form->uri, "out", form->n_out);
}

static FILE*
open_file(const char* folder, const char* stem)
{
  char path[1024];
  (void)snprintf(path, sizeof(path), "%s/%s.ttl", folder, stem);
  FILE* const f = fopen(path, "w");
  if (!f) {
    perror(path);
    exit(1);
  }
  fprintf(f, "# Written from the tables of controls by: ./dev ttl\n\n");
  fprintf(f, PREFIXES);
  return f;
}

static void
close_file(FILE* f)
{
  if (fclose(f)) {
    perror("write");
    exit(1);
  }
}

static void
write_manifest(const char* folder)
{
  FILE* const   f = open_file(folder, "manifest");
  const plugin* p = NULL;

  fprintf(f, "<urn:dustcap>\n\ta doap:Project ;\n\tdoap:name \"Dustcap\" ;\n"
             "\tlv2:symbol \"dustcap\" ;\n"
             "\tdoap:license <https://spdx.org/licenses/ISC> ;\n"
             "\tdoap:maintainer [\n\t\ta foaf:Person ;\n"
             "\t\tfoaf:name \"The Dustcap authors\"\n\t] .\n");
  for (uint32_t n = 0; (p = shell_plugin(n)); ++n) {
    for (uint32_t i = 0; i < shell_form_count(p); ++i) {
      const plugin_form form = shell_form(p, i);
      fprintf(f,
              "\n<%s>\n\ta lv2:Plugin ;\n\tlv2:binary <dustcap.so> ;\n"
              "\trdfs:seeAlso <%s.ttl> .\n",
              form.uri, p->stem);
    }
  }
  close_file(f);
}

void
turtle_write(const char* folder)
{
  const plugin* p = NULL;

  write_manifest(folder);
  for (uint32_t n = 0; (p = shell_plugin(n)); ++n) {
    FILE* const f = open_file(folder, p->stem);
    for (uint32_t i = 0; i < shell_form_count(p); ++i) {
      const plugin_form form = shell_form(p, i);
      fprintf(f, "%s", i ? "\n" : "");
      print_form(f, &form);
    }
    close_file(f);
  }
}
