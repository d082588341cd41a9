// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "preset_turtle.h"

#include "presets-demo/render/program/alloc.h"
#include "presets-demo/render/program/utf8.h"

#include <ctype.h>
#include <stdlib.h>
#include <string.h>

static const char ending[] = ".ini";

// ---------------------------------------------------------------------------
// Names

/// A valid name in UTF-8 without control characters.  LV2 wants text, and a
/// host shows it.
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
                   "%s: its name is no text; expected a name in UTF-8 such as "
                   "my-lead.ini",
                   path);
}

/// Letters, digits and hyphens as they are, all else percent-encoded
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

/// Hyphens and underscores are spaces; a capital first
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

static void
print_string(FILE* out, const char* text)
{
  (void)fputc('"', out);
  for (const char* c = text; *c; ++c) {
    if (*c == '"' || *c == '\\') {
      (void)fputc('\\', out);
    }
    (void)fputc(*c, out);
  }
  (void)fputc('"', out);
}

/// The shortest decimal that reads back as the same float.  With a point even
/// for choices: ports are floats, and a host (lv2file) takes no other values.
static void
print_value(FILE* out, float value)
{
  char text[64];
  for (int decimals = 1; decimals <= 30; ++decimals) {
    (void)snprintf(text, sizeof(text), "%.*f", decimals, (double)value);
    if (strtof(text, NULL) == value) {
      break;
    }
  }
  (void)fputs(text, out);
}

/// Call for every preset: bank, stage, form
static void
each_preset(FILE*              out,
            const preset_bank* banks,
            uint32_t           n,
            const char*        prefix,
            void (*print)(FILE*                out,
                          const preset_bank*   b,
                          const char*          prefix,
                          const part_settings* stage,
                          const part_form*     form))
{
  for (uint32_t i = 0; i < n; ++i) {
    for (uint32_t k = 0; k < banks[i].setup.n_stages; ++k) {
      const part_settings* const stage = &banks[i].setup.stages[k];
      for (uint32_t j = 0; j < stage->part->n_forms; ++j) {
        print(out, &banks[i], prefix, stage, &stage->part->forms[j]);
      }
    }
  }
}

static void
print_entry(FILE*                out,
            const preset_bank*   b,
            const char*          prefix,
            const part_settings* stage,
            const part_form*     form)
{
  (void)stage;
  char* const uri = preset_uri(b, prefix, form);
  (void)fprintf(out,
                "\n<%s>\n\ta pset:Preset ;\n\tlv2:appliesTo <%s> ;\n"
                "\trdfs:seeAlso <presets.ttl> .\n",
                uri, plugin_uri(form));
  free(uri);
}

static void
print_preset(FILE*                out,
             const preset_bank*   b,
             const char*          prefix,
             const part_settings* stage,
             const part_form*     form)
{
  char* const uri = preset_uri(b, prefix, form);
  (void)fprintf(out,
                "\n<%s>\n\ta pset:Preset ;\n\tlv2:appliesTo <%s> ;\n"
                "\tpset:bank <%s:%s> ;\n\trdfs:label ",
                uri, plugin_uri(form), prefix, b->slug);
  print_string(out, b->label);
  bool is_first = true;
  for (uint32_t i = 0; i < stage->part->forms[0].n_controls; ++i) {
    const control_input* const c = &stage->part->forms[0].controls[i];
    if (strcmp(c->symbol, "enabled") != 0) {
      (void)fprintf(out, "%s [\n\t\tlv2:symbol \"%s\" ;\n\t\tpset:value ",
                    is_first ? " ;\n\tlv2:port" : " ,", c->symbol);
      print_value(out, stage->values[i]);
      (void)fputs("\n\t]", out);
      is_first = false;
    }
  }
  (void)fputs(" .\n", out);
  free(uri);
}

static const char prefixes[] =
  "# Written from setups by dustcap-presets\n\n"
  "@prefix lv2: <http://lv2plug.in/ns/lv2core#> .\n"
  "@prefix pset: <http://lv2plug.in/ns/ext/presets#> .\n"
  "@prefix rdfs: <http://www.w3.org/2000/01/rdf-schema#> .\n";

void
preset_manifest_print(FILE*              out,
                      const preset_bank* banks,
                      uint32_t           n,
                      const char*        prefix,
                      bool               is_whole)
{
  (void)fputs(is_whole
                ? prefixes
                : "\n@prefix pset: <http://lv2plug.in/ns/ext/presets#> .\n",
              out);
  each_preset(out, banks, n, prefix, print_entry);
}

void
preset_turtle_print(FILE*              out,
                    const preset_bank* banks,
                    uint32_t           n,
                    const char*        prefix)
{
  (void)fputs(prefixes, out);
  for (uint32_t i = 0; i < n; ++i) {
    (void)fprintf(out, "\n<%s:%s>\n\ta pset:Bank ;\n\trdfs:label ", prefix,
                  banks[i].slug);
    print_string(out, banks[i].label);
    (void)fputs(" .\n", out);
  }
  each_preset(out, banks, n, prefix, print_preset);
}
