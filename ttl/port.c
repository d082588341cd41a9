// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "port.h"

#include "words.h"

#include <stdbool.h>
#include <string.h>

/// A Turtle decimal, which has a point, or an integer
static void
print_value(FILE* f, const char* property, float x, bool is_integer)
{
  char text[32];
  words_decimal(x, text, sizeof(text));
  fprintf(f, "\t\t%s %s%s", property, text,
          is_integer || strchr(text, '.') ? "" : ".0");
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
  if (words_unit(unit)->turtle) {
    fprintf(f, " ;\n\t\tunits:unit %s", words_unit(unit)->turtle);
  }
}

static void
print_choices(FILE* f, const char* labels)
{
  fprintf(f, " ;\n\t\tlv2:portProperty lv2:enumeration ,\n\t\t\tlv2:integer");
  for (uint32_t i = 0; i < words_label_count(labels); ++i) {
    int               length = 0;
    const char* const text   = words_label(labels, i, &length);
    fprintf(f,
            " ;\n\t\tlv2:scalePoint [\n\t\t\trdfs:label \"%.*s\" ;\n"
            "\t\t\trdf:value %u\n\t\t]",
            length, text, i);
  }
}

void
port_print_input(FILE* f, uint32_t index, const param_info* p)
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

void
port_print_output(FILE* f, uint32_t index, const meter_info* m)
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

void
port_print_audio(FILE*       f,
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
