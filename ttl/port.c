// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "port.h"

#include "steps.h"
#include "words.h"

#include <lv2/core/lv2.h>
#include <lv2/port-groups/port-groups.h>
#include <lv2/port-props/port-props.h>
#include <lv2/units/units.h>

#include <stdbool.h>
#include <string.h>

static void
write_value(turtle_writer* w, const char* property, float x, bool is_integer)
{
  if (is_integer) {
    turtle_writer_integer(w, property, (int64_t)x);
  } else {
    turtle_writer_decimal(w, property, x);
  }
}

static void
begin_port(turtle_writer* w,
           uint32_t       index,
           const char*    direction, // Class of LV2
           const char*    kind)
{
  turtle_writer_begin_node(w, LV2_CORE__port);
  turtle_writer_uri(w, TURTLE_RDF_TYPE, "%s", direction);
  turtle_writer_uri(w, TURTLE_RDF_TYPE, "%s", kind);
  turtle_writer_integer(w, LV2_CORE__index, index);
}

static void
write_names(turtle_writer* w, const char* symbol, const char* name)
{
  turtle_writer_text(w, LV2_CORE__symbol, "%s", symbol);
  turtle_writer_text(w, LV2_CORE__name, "%s", name);
  turtle_writer_uri(w, LV2_CORE__portProperty, LV2_CORE__connectionOptional);
}

/// LV2's own units are shown with six figures after the point, and a format
/// belongs to a unit: so each is a unit of our own, with the way back to LV2's
static void
write_unit(turtle_writer* w, param_unit unit, float min, float max)
{
  const unit_words* const words = words_unit(unit);
  char                    render[32];

  if (!words->name) {
    return;
  }
  turtle_writer_begin_node(w, LV2_UNITS__unit);
  turtle_writer_uri(w, TURTLE_RDF_TYPE, LV2_UNITS__Unit);
  turtle_writer_text(w, TURTLE_RDFS "label", "%s", words->name);
  turtle_writer_text(w, LV2_UNITS__symbol, "%s", words->text);
  turtle_writer_text(w, LV2_UNITS__render, "%s",
                     words_render(unit, min, max, render, sizeof(render)));
  if (words->uri) {
    turtle_writer_begin_node(w, LV2_UNITS__conversion);
    turtle_writer_uri(w, LV2_UNITS_PREFIX "to", "%s", words->uri);
    turtle_writer_decimal(w, LV2_UNITS_PREFIX "factor", 1.0F);
    turtle_writer_end_node(w);
  }
  turtle_writer_end_node(w);
}

static void
write_choices(turtle_writer* w, const char* labels)
{
  turtle_writer_uri(w, LV2_CORE__portProperty, LV2_CORE__enumeration);
  turtle_writer_uri(w, LV2_CORE__portProperty, LV2_CORE__integer);
  for (uint32_t i = 0; i < words_label_count(labels); ++i) {
    int               length = 0;
    const char* const text   = words_label(labels, i, &length);
    turtle_writer_begin_node(w, LV2_CORE__scalePoint);
    turtle_writer_text(w, TURTLE_RDFS "label", "%.*s", length, text);
    turtle_writer_integer(w, TURTLE_RDF "value", i);
    turtle_writer_end_node(w);
  }
}

void
port_write_input(turtle_writer*    w,
                 uint32_t          index,
                 const char*       group,
                 uint32_t          priority,
                 const param_info* p)
{
  const bool is_integer = p->kind != PARAM_NUM || p->is_hidden;

  begin_port(w, index, LV2_CORE__InputPort, LV2_CORE__ControlPort);
  write_names(w, p->symbol, p->name);
  turtle_writer_uri(w, LV2_PORT_GROUPS__group, "%s", group);
  turtle_writer_integer(w, LV2_PORT_PROPS__displayPriority, priority);
  write_value(w, LV2_CORE__default, p->def, is_integer);
  write_value(w, LV2_CORE__minimum, p->min, is_integer);
  write_value(w, LV2_CORE__maximum, p->max, is_integer);
  write_unit(w, p->unit, p->min, p->max);
  if (p->kind == PARAM_TOG) {
    turtle_writer_uri(w, LV2_CORE__portProperty, LV2_CORE__toggled);
  } else if (p->kind == PARAM_SEL) {
    write_choices(w, p->labels);
  } else if (p->is_hidden) {
    turtle_writer_uri(w, LV2_CORE__portProperty, LV2_CORE__integer);
  } else {
    if (p->taper == TAPER_LOG) {
      turtle_writer_uri(w, LV2_CORE__portProperty, LV2_PORT_PROPS__logarithmic);
    }
    turtle_writer_integer(w, LV2_PORT_PROPS__rangeSteps, steps_points(p));
  }
  if (p->is_hidden) {
    turtle_writer_uri(w, LV2_CORE__portProperty, LV2_PORT_PROPS__notOnGUI);
  }
  if (!strcmp(p->symbol, "enabled")) {
    turtle_writer_uri(w, LV2_CORE__designation, LV2_CORE__enabled);
  }
  turtle_writer_text(w, TURTLE_RDFS "comment", "%s", p->doc);
  turtle_writer_end_node(w);
}

void
port_write_output(turtle_writer*    w,
                  uint32_t          index,
                  const char*       group,
                  const meter_info* m)
{
  const bool is_latency = !strcmp(m->symbol, "latency_frames");

  begin_port(w, index, LV2_CORE__OutputPort, LV2_CORE__ControlPort);
  write_names(w, m->symbol, m->name);
  turtle_writer_uri(w, LV2_PORT_GROUPS__group, "%s", group);
  write_value(w, LV2_CORE__minimum, m->min, is_latency);
  write_value(w, LV2_CORE__maximum, m->max, is_latency);
  write_unit(w, m->unit, m->min, m->max);
  if (is_latency) {
    turtle_writer_uri(w, LV2_CORE__designation, LV2_CORE__latency);
    turtle_writer_uri(w, LV2_CORE__portProperty, LV2_CORE__reportsLatency);
    turtle_writer_uri(w, LV2_CORE__portProperty, LV2_CORE__integer);
    turtle_writer_uri(w, LV2_CORE__portProperty, LV2_PORT_PROPS__notOnGUI);
  }
  turtle_writer_text(w, TURTLE_RDFS "comment", "%s", m->doc);
  turtle_writer_end_node(w);
}

void
port_write_audio(turtle_writer* w,
                 uint32_t       index,
                 const char*    uri,
                 const char*    side, // "in" or "out"
                 uint32_t       n)
{
  static const char* const symbols[]      = {"", "_l", "_r"};
  static const char* const names[]        = {"", " left", " right"};
  static const char* const designations[] = {
    LV2_PORT_GROUPS__center, LV2_PORT_GROUPS__left, LV2_PORT_GROUPS__right};
  const bool is_input = !strcmp(side, "in");

  for (uint32_t k = 0; k < n; ++k) {
    const uint32_t place = n == 1 ? 0 : 1 + k % 2;
    begin_port(w, index + k,
               is_input ? LV2_CORE__InputPort : LV2_CORE__OutputPort,
               LV2_CORE__AudioPort);
    turtle_writer_text(w, LV2_CORE__symbol, "%s%s", side, symbols[place]);
    turtle_writer_text(w, LV2_CORE__name, "%s%s", is_input ? "Input" : "Output",
                       names[place]);
    turtle_writer_uri(w, LV2_PORT_GROUPS__group, "%s#main_%s", uri, side);
    turtle_writer_uri(w, LV2_CORE__designation, "%s", designations[place]);
    turtle_writer_end_node(w);
  }
}
