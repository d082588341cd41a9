// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "preset_turtle.h"

#include "preset_values.h"

#include "plugins/text/utf8.h"
#include "presets-demo/render/program/alloc.h"
#include "ttl/writer/turtle_writer.h"

#include <lv2/core/lv2.h>
#include <lv2/presets/presets.h>

#include <ctype.h>
#include <errno.h>
#include <stdlib.h>
#include <string.h>

static const char ending[] = ".ini";

// ---------------------------------------------------------------------------
// Names

/// Checks for a name in UTF-8 without control characters, which LV2 needs and a
/// host shows
static bool
check_name(const char* name, const char* path, failure* f)
{
  bool ok = *name != '\0';
  for (const char* c = name; ok && *c; c += utf8_length(c)) {
    const unsigned char first = (unsigned char)*c;
    ok = utf8_length(c) > 0 && first >= 0x20 && first != 0x7F;
  }
  return ok ||
         fail_with(f,
                   "%s: its name is not text; expected a name in UTF-8 such as "
                   "my-lead.ini",
                   path);
}

/// Returns the name with all but letters, digits and hyphens percent-encoded
static char*
slug_of(const char* name)
{
  char*  slug = alloc_new(3 * strlen(name) + 1, 1);
  size_t n    = 0;
  for (const unsigned char* c = (const unsigned char*)name; *c; ++c) {
    if ((*c < 0x80 && isalnum(*c)) || *c == '-') {
      slug[n++] = (char)*c;
    } else {
      (void)snprintf(slug + n, 4, "%%%02X", *c);
      n += 3;
    }
  }
  return slug;
}

/// Returns the name with spaces for hyphens and underscores, and a capital
/// first
static char*
label_of(const char* name)
{
  char* const label = alloc_copy(name);
  for (char* c = label; *c; ++c) {
    *c = *c == '-' || *c == '_' ? ' ' : *c;
  }
  if ((unsigned char)*label < 0x80) {
    *label = (char)toupper((unsigned char)*label);
  }
  return label;
}

bool
preset_bank_load(preset_bank*     b,
                 const char*      path,
                 const catalogue* parts,
                 failure*         f)
{
  const char* const slash  = strrchr(path, '/');
  const char* const file   = slash ? slash + 1 : path;
  size_t            length = strlen(file);
  if (length > strlen(ending) &&
      !strcmp(file + length - strlen(ending), ending)) {
    length -= strlen(ending);
  }
  *b               = (preset_bank){.label = NULL};
  char* const name = alloc_print("%.*s", (int)length, file);
  const bool  ok =
    check_name(name, path, f) && setup_load(&b->setup, path, parts, f);
  if (ok) {
    b->label = label_of(name);
    b->slug  = slug_of(name);
  }
  free(name);
  return ok;
}

void
preset_bank_clear(preset_bank* b)
{
  free(b->label);
  free(b->slug);
  setup_clear(&b->setup);
}

static const char*
plugin_uri(const part_form* form)
{
  return lilv_node_as_uri(lilv_plugin_get_uri(form->plugin));
}

char*
preset_uri(const preset_bank* b, const char* prefix, const part_form* form)
{
  const char* const uri  = plugin_uri(form);
  const char* const last = strrchr(uri, ':');
  return alloc_print("%s:%s:%s", prefix, b->slug, last ? last + 1 : uri);
}

// ---------------------------------------------------------------------------
// Turtle

/// Calls a function for every preset: bank, stage, form
static void
each_preset(turtle_writer*     w,
            const preset_bank* banks,
            uint32_t           n,
            const char*        prefix,
            void (*write)(turtle_writer*       w,
                          const preset_bank*   b,
                          const char*          prefix,
                          const part_settings* stage,
                          const part_form*     form))
{
  for (uint32_t i = 0; i < n; ++i) {
    for (uint32_t k = 0; k < banks[i].setup.n_stages; ++k) {
      const part_settings* const stage = &banks[i].setup.stages[k];
      for (uint32_t j = 0; j < stage->part->n_forms; ++j) {
        write(w, &banks[i], prefix, stage, &stage->part->forms[j]);
      }
    }
  }
}

static void
begin_preset(turtle_writer*     w,
             const preset_bank* b,
             const char*        prefix,
             const part_form*   form)
{
  char* const uri = preset_uri(b, prefix, form);
  turtle_writer_subject(w, "%s", uri);
  free(uri);
  turtle_writer_uri(w, TURTLE_RDF_TYPE, LV2_PRESETS__Preset);
  turtle_writer_uri(w, LV2_CORE__appliesTo, "%s", plugin_uri(form));
}

static void
write_entry(turtle_writer*       w,
            const preset_bank*   b,
            const char*          prefix,
            const part_settings* stage,
            const part_form*     form)
{
  (void)stage;
  begin_preset(w, b, prefix, form);
  turtle_writer_uri(w, TURTLE_RDFS "seeAlso", "presets.ttl");
}

/// Writes decimals even for choices: ports are floats, and a host (lv2file)
/// takes no other values
static void
write_preset(turtle_writer*       w,
             const preset_bank*   b,
             const char*          prefix,
             const part_settings* stage,
             const part_form*     form)
{
  begin_preset(w, b, prefix, form);
  turtle_writer_uri(w, LV2_PRESETS__bank, "%s:%s", prefix, b->slug);
  turtle_writer_text(w, TURTLE_RDFS "label", "%s", b->label);
  for (uint32_t i = 0; i < stage->part->forms[0].n_controls; ++i) {
    const control_input* const c = &stage->part->forms[0].controls[i];
    if (preset_values_hold(stage->part, c->symbol)) {
      turtle_writer_begin_node(w, LV2_CORE__port);
      turtle_writer_text(w, LV2_CORE__symbol, "%s", c->symbol);
      turtle_writer_decimal(w, LV2_PRESETS__value, stage->values[i]);
      turtle_writer_end_node(w);
    }
  }
}

static void
write_bank(turtle_writer* w, const preset_bank* b, const char* prefix)
{
  turtle_writer_subject(w, "%s:%s", prefix, b->slug);
  turtle_writer_uri(w, TURTLE_RDF_TYPE, LV2_PRESETS__Bank);
  turtle_writer_text(w, TURTLE_RDFS "label", "%s", b->label);
}

static bool
open_file(turtle_writer* w, const char* path, bool is_appended)
{
  static const turtle_prefix prefixes[] = {
    {"lv2", LV2_CORE_PREFIX},
    {"pset", LV2_PRESETS_PREFIX},
    {"rdfs", TURTLE_RDFS},
  };
  return turtle_writer_open(w, path, is_appended,
                            "Written from setups by dustcap-presets", prefixes,
                            sizeof(prefixes) / sizeof(*prefixes));
}

static bool
fail_to_write(const char* path, failure* f)
{
  return fail_with(f, "%s: cannot be written (%s)", path, strerror(errno));
}

bool
preset_manifest_write(const char*        path,
                      bool               is_appended,
                      const preset_bank* banks,
                      uint32_t           n,
                      const char*        prefix,
                      failure*           f)
{
  turtle_writer w;
  if (!open_file(&w, path, is_appended)) {
    return fail_to_write(path, f);
  }
  each_preset(&w, banks, n, prefix, write_entry);
  return turtle_writer_close(&w) || fail_to_write(path, f);
}

bool
preset_turtle_write(const char*        path,
                    const preset_bank* banks,
                    uint32_t           n,
                    const char*        prefix,
                    failure*           f)
{
  turtle_writer w;
  if (!open_file(&w, path, false)) {
    return fail_to_write(path, f);
  }
  for (uint32_t i = 0; i < n; ++i) {
    write_bank(&w, &banks[i], prefix);
  }
  each_preset(&w, banks, n, prefix, write_preset);
  return turtle_writer_close(&w) || fail_to_write(path, f);
}
