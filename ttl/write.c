// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Writes what hosts and people read from the tables of controls:
///
///   write FOLDER         the manifest and one Turtle file per plugin
///   write --manual       the README's tables of controls, to standard output

#include "plugin_list.h"

#include "plugins/shell.h"

#include <math.h>
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

typedef struct {
  const char* turtle; ///< Object of units:unit
  const char* text;   ///< In the manual
} unit_words;

static const unit_words units[] = {
  [UNIT_NONE]   = {NULL, ""},
  [UNIT_CM]     = {"units:cm", "cm"},
  [UNIT_DB]     = {"units:db", "dB"},
  [UNIT_FRAMES] = {"units:frame", "frames"},
  [UNIT_HZ]     = {"units:hz", "Hz"},
  [UNIT_M]      = {"units:m", "m"},
  [UNIT_M3]  = {"[\n\t\t\ta units:Unit ;\n\t\t\trdfs:label \"cubic metres\" ;\n"
                 "\t\t\tunits:symbol \"m³\" ;\n"
                 "\t\t\tunits:render \"%.0f m³\"\n\t\t]",
                "m³"},
  [UNIT_MS]  = {"units:ms", "ms"},
  [UNIT_OCT] = {"units:oct", "oct"},
  [UNIT_OHM] = {"[\n\t\t\ta units:Unit ;\n\t\t\trdfs:label \"ohms\" ;\n"
                "\t\t\tunits:symbol \"Ω\" ;\n"
                "\t\t\tunits:render \"%.1f Ω\"\n\t\t]",
                "Ω"},
  [UNIT_PC]  = {"units:pc", "%"},
  [UNIT_S]   = {"units:s", "s"},
};

/// The shortest decimal that reads back as `x`
static const char*
decimal(float x, char* text, size_t size)
{
  for (int digits = 1; digits <= 9; ++digits) {
    (void)snprintf(text, size, "%.*g", digits, (double)x);
    if (strtof(text, NULL) == x && !strchr(text, 'e')) {
      break;
    }
  }
  return text;
}

/// A Turtle decimal, which has a point, or an integer
static void
print_value(FILE* f, const char* property, float x, bool is_integer)
{
  char text[32];
  decimal(x, text, sizeof(text));
  fprintf(f, "\t\t%s %s%s", property, text,
          is_integer || strchr(text, '.') ? "" : ".0");
}

/// The `i`th of labels separated by '|'
static const char*
label(const char* labels, uint32_t i, int* length)
{
  for (; i > 0; --i) {
    labels = strchr(labels, '|') + 1;
  }
  *length = (int)strcspn(labels, "|");
  return labels;
}

static uint32_t
label_count(const char* labels)
{
  uint32_t n = 1;
  for (; (labels = strchr(labels, '|')); ++labels) {
    ++n;
  }
  return n;
}

static void
begin_port(FILE* f, uint32_t index, const char* direction, const char* kind)
{
  fprintf(f, "%s [\n\t\ta lv2:%sPort ,\n\t\t\tlv2:%sPort ;\n\t\tlv2:index %u",
          index ? " ," : "\tlv2:port", direction, kind, index);
}

static void
print_names(FILE* f, const char* symbol, const char* name)
{
  fprintf(f, " ;\n\t\tlv2:symbol \"%s\" ;\n\t\tlv2:name \"%s\"", symbol, name);
}

static void
print_unit(FILE* f, param_unit unit)
{
  if (units[unit].turtle) {
    fprintf(f, " ;\n\t\tunits:unit %s", units[unit].turtle);
  }
}

static void
print_choices(FILE* f, const char* labels)
{
  fprintf(f, " ;\n\t\tlv2:portProperty lv2:enumeration ,\n\t\t\tlv2:integer");
  for (uint32_t i = 0; i < label_count(labels); ++i) {
    int               length = 0;
    const char* const text   = label(labels, i, &length);
    fprintf(f,
            " ;\n\t\tlv2:scalePoint [\n\t\t\trdfs:label \"%.*s\" ;\n"
            "\t\t\trdf:value %u\n\t\t]",
            length, text, i);
  }
}

static void
print_input(FILE* f, uint32_t index, const param_info* p)
{
  const bool is_integer = p->kind != PARAM_NUM;

  begin_port(f, index, "Input", "Control");
  print_names(f, p->symbol, p->name);
  fprintf(f, " ;\n\t\tlv2:portProperty lv2:connectionOptional ;\n");
  print_value(f, "lv2:default", p->def, is_integer);
  fprintf(f, " ;\n");
  print_value(f, "lv2:minimum", p->min, is_integer);
  fprintf(f, " ;\n");
  print_value(f, "lv2:maximum", p->max, is_integer);
  print_unit(f, p->unit);
  if (p->kind == PARAM_TOG) {
    fprintf(f, " ;\n\t\tlv2:portProperty lv2:toggled");
  } else if (p->kind == PARAM_SEL) {
    print_choices(f, p->labels);
  } else if (p->taper == TAPER_LOG) {
    fprintf(f, " ;\n\t\tlv2:portProperty pprops:logarithmic");
  }
  if (!strcmp(p->symbol, "enabled")) {
    fprintf(f, " ;\n\t\tlv2:designation lv2:enabled");
  }
  fprintf(f, " ;\n\t\trdfs:comment \"%s\"\n\t]", p->doc);
}

static void
print_output(FILE* f, uint32_t index, const meter_info* m)
{
  const bool is_latency = !strcmp(m->symbol, "latency_frames");

  begin_port(f, index, "Output", "Control");
  print_names(f, m->symbol, m->name);
  fprintf(f, " ;\n\t\tlv2:portProperty lv2:connectionOptional ;\n");
  print_value(f, "lv2:minimum", m->min, is_latency);
  fprintf(f, " ;\n");
  print_value(f, "lv2:maximum", m->max, is_latency);
  print_unit(f, m->unit);
  if (is_latency) {
    fprintf(f, " ;\n\t\tlv2:designation lv2:latency ;\n"
               "\t\tlv2:portProperty lv2:reportsLatency ,\n"
               "\t\t\tlv2:integer ,\n\t\t\tpprops:notOnGUI");
  }
  fprintf(f, " ;\n\t\trdfs:comment \"%s\"\n\t]", m->doc);
}

/// One side's audio ports; grouped, so that every host sees which is which
static void
print_audio(FILE*       f,
            uint32_t    index,
            const char* uri,
            const char* side, // "in" or "out"
            uint32_t    n)
{
  static const char* const symbols[]      = {"", "_l", "_r"};
  static const char* const names[]        = {"", " left", " right"};
  static const char* const designations[] = {"center", "left", "right"};
  const bool               is_input       = !strcmp(side, "in");

  for (uint32_t k = 0; k < n; ++k) {
    const uint32_t place = n == 1 ? 0 : 1 + k % 2;
    begin_port(f, index + k, is_input ? "Input" : "Output", "Audio");
    fprintf(f, " ;\n\t\tlv2:symbol \"%s%s\" ;\n\t\tlv2:name \"%s%s\" ;\n", side,
            symbols[place], is_input ? "Input" : "Output", names[place]);
    fprintf(f, "\t\tpg:group <%s#main_%s> ;\n\t\tlv2:designation pg:%s\n\t]",
            uri, side, designations[place]);
  }
}

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
    print_input(f, index++, shell_param(p, i));
  }
  for (uint32_t i = 0; i < shell_meter_count(p); ++i) {
    print_output(f, index++, shell_meter(p, i));
  }
  print_audio(f, index, form->uri, "in", form->n_in);
  print_audio(f, index + form->n_in, form->uri, "out", form->n_out);
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

static void
write_turtle(const char* folder)
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

// ---------------------------------------------------------------------------
// Manual

static void
print_manual_range(const param_info* p)
{
  char a[32];
  char b[32];
  char c[32];

  if (p->kind == PARAM_TOG) {
    printf("off, on | %s", p->def > 0.0f ? "on" : "off");
  } else if (p->kind == PARAM_SEL) {
    int         length = 0;
    const char* text   = NULL;
    for (uint32_t i = 0; i < label_count(p->labels); ++i) {
      text = label(p->labels, i, &length);
      printf("%s%.*s", i ? ", " : "", length, text);
    }
    text = label(p->labels, (uint32_t)p->def, &length);
    printf(" | %.*s", length, text);
  } else {
    const char* const unit = units[p->unit].text;
    printf("%s to %s%s%s | %s", decimal(p->min, a, sizeof(a)),
           decimal(p->max, b, sizeof(b)), *unit ? " " : "", unit,
           decimal(p->def, c, sizeof(c)));
  }
}

static void
print_manual_rows(const param_info* params,
                  uint32_t          n_params,
                  const meter_info* meters,
                  uint32_t          n_meters)
{
  printf("\n| Control | Symbol | Range | Default | What it does |\n"
         "|---|---|---|---|---|\n");
  for (uint32_t i = 0; i < n_params; ++i) {
    printf("| %s | `%s` | ", params[i].name, params[i].symbol);
    print_manual_range(&params[i]);
    printf(" | %s |\n", params[i].doc);
  }
  for (uint32_t i = 0; i < n_meters; ++i) {
    const char* const unit = units[meters[i].unit].text;
    printf("| %s | `%s` | meter%s%s | | %s |\n", meters[i].name,
           meters[i].symbol, *unit ? ", " : "", unit, meters[i].doc);
  }
}

static void
write_manual(void)
{
  const plugin* p = NULL;

  printf("### In every plugin\n");
  print_manual_rows(shell_param_info, shell_n_params, shell_meter_info,
                    shell_n_meters);
  for (uint32_t n = 0; (p = shell_plugin(n)); ++n) {
    printf("\n### %s (`%s`)\n\n%s\n", p->name, p->stem, p->summary);
    print_manual_rows(p->ops->params, p->ops->n_params, p->ops->meters,
                      p->ops->n_meters);
  }
}

int
main(int argc, char** argv)
{
  if (argc != 2) {
    fprintf(stderr, "usage: write FOLDER | write --manual\n");
    return 2;
  }
  if (!strcmp(argv[1], "--manual")) {
    write_manual();
  } else {
    write_turtle(argv[1]);
  }
  return 0;
}
