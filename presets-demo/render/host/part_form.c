// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "part_form.h"

#include "presets-demo/render/program/alloc.h"

#include <lv2/core/lv2.h>
#include <lv2/port-props/port-props.h>
#include <lv2/units/units.h>

#include <float.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

/// lilv_port_is_a() or lilv_port_has_property()
typedef bool (*port_question)(const LilvPlugin* plugin,
                              const LilvPort*   port,
                              const LilvNode*   node);

static bool
ask(LilvWorld*        world,
    port_question     question,
    const LilvPlugin* plugin,
    const LilvPort*   port,
    const char*       uri)
{
  LilvNode* const node   = lilv_new_uri(world, uri);
  const bool      answer = question(plugin, port, node);
  lilv_node_free(node);
  return answer;
}

/// Units of the extension whose symbol differs from their name: LV2 1.18,
/// units.ttl, units:symbol
static const char*
unit_symbol(const char* name)
{
  static const struct {
    const char* name;
    const char* symbol;
  } symbols[] = {
    {"bar", "bars"},      {"beat", "beats"},
    {"bpm", "BPM"},       {"cent", "ct"},
    {"coef", ""},         {"db", "dB"},
    {"degree", "deg"},    {"frame", "frames"},
    {"hz", "Hz"},         {"inch", "in"},
    {"khz", "kHz"},       {"mhz", "MHz"},
    {"midiNote", "note"}, {"mile", "mi"},
    {"pc", "%"},          {"semitone12TET", "semi"},
  };
  for (uint32_t i = 0; i < sizeof(symbols) / sizeof(symbols[0]); ++i) {
    if (!strcmp(name, symbols[i].name)) {
      return symbols[i].symbol;
    }
  }
  return name;
}

static char*
port_unit(LilvWorld* world, const LilvPlugin* plugin, const LilvPort* port)
{
  LilvNode* const unit_key   = lilv_new_uri(world, LV2_UNITS__unit);
  LilvNode* const symbol_key = lilv_new_uri(world, LV2_UNITS__symbol);
  LilvNode* const unit       = lilv_port_get(plugin, port, unit_key);
  LilvNode*       symbol     = NULL;
  if (unit) { // The bundle's own units state their symbol
    symbol = lilv_world_get(world, unit, symbol_key, NULL);
  }

  const char* text = "";
  if (symbol) {
    text = lilv_node_as_string(symbol);
  } else if (unit && lilv_node_is_uri(unit) &&
             !strncmp(lilv_node_as_uri(unit), LV2_UNITS_PREFIX,
                      strlen(LV2_UNITS_PREFIX))) {
    text = unit_symbol(lilv_node_as_uri(unit) + strlen(LV2_UNITS_PREFIX));
  }
  char* const copy = alloc_copy(text);
  lilv_node_free(symbol);
  lilv_node_free(unit);
  lilv_node_free(symbol_key);
  lilv_node_free(unit_key);
  return copy;
}

static int
by_value(const void* a, const void* b)
{
  const float x = ((const control_choice*)a)->value;
  const float y = ((const control_choice*)b)->value;
  return (x > y) - (x < y);
}

static void
read_choices(control_input* c, const LilvPlugin* plugin, const LilvPort* port)
{
  LilvScalePoints* const points = lilv_port_get_scale_points(plugin, port);
  c->choices = alloc_new(lilv_scale_points_size(points), sizeof(*c->choices));
  LILV_FOREACH(scale_points, i, points)
  {
    const LilvScalePoint* const point = lilv_scale_points_get(points, i);
    control_choice* const       next  = &c->choices[c->n_choices++];
    next->label =
      alloc_copy(lilv_node_as_string(lilv_scale_point_get_label(point)));
    next->value = lilv_node_as_float(lilv_scale_point_get_value(point));
  }
  lilv_scale_points_free(points);
  qsort(c->choices, c->n_choices, sizeof(*c->choices), by_value);
}

static control_input
read_control(LilvWorld*        world,
             const LilvPlugin* plugin,
             const LilvPort*   port,
             const float       range[3])
{
  control_input c = {
    .index = lilv_port_get_index(plugin, port),
    .symbol =
      alloc_copy(lilv_node_as_string(lilv_port_get_symbol(plugin, port))),
    .unit = port_unit(world, plugin, port),
    .is_integer =
      ask(world, lilv_port_has_property, plugin, port, LV2_CORE__integer),
    .min = isfinite(range[0]) ? range[0] : -FLT_MAX,
    .max = isfinite(range[1]) ? range[1] : FLT_MAX,
  };
  c.def = isfinite(range[2]) ? range[2] : fmaxf(c.min, fminf(0.0F, c.max));
  if (ask(world, lilv_port_has_property, plugin, port, LV2_CORE__toggled)) {
    c.kind = CONTROL_TOGGLE;
  } else if (ask(world, lilv_port_has_property, plugin, port,
                 LV2_CORE__enumeration)) {
    c.kind = CONTROL_CHOICE;
    read_choices(&c, plugin, port);
  }
  return c;
}

static void
add_audio(uint32_t* ports, uint32_t* n, uint32_t index)
{
  if (*n < PART_MAX_CHANNELS) {
    ports[*n] = index;
  }
  ++*n;
}

static void
read_port(part_form*      form,
          LilvWorld*      world,
          const LilvPort* port,
          const float     range[3])
{
  const LilvPlugin* const plugin = form->plugin;
  const uint32_t          index  = lilv_port_get_index(plugin, port);
  const bool              is_input =
    ask(world, lilv_port_is_a, plugin, port, LV2_CORE__InputPort);
  if (ask(world, lilv_port_is_a, plugin, port, LV2_CORE__AudioPort)) {
    if (is_input) {
      add_audio(form->in, &form->n_in, index);
    } else {
      add_audio(form->out, &form->n_out, index);
    }
  } else if (ask(world, lilv_port_is_a, plugin, port, LV2_CORE__ControlPort)) {
    if (is_input && ask(world, lilv_port_has_property, plugin, port,
                        LV2_PORT_PROPS__notOnGUI)) {
      return; // The memory of a window: nothing that is set or heard
    }
    if (is_input) {
      form->controls[form->n_controls++] =
        read_control(world, plugin, port, range);
    } else {
      control_output* const meter = &form->meters[form->n_meters++];
      meter->index                = index;
      meter->symbol =
        alloc_copy(lilv_node_as_string(lilv_port_get_symbol(plugin, port)));
    }
  }
}

bool
part_form_read(part_form* form, LilvWorld* world, const LilvPlugin* plugin)
{
  *form = (part_form){.plugin = plugin};
  if (!lilv_plugin_verify(plugin)) {
    return false;
  }
  const uint32_t n      = lilv_plugin_get_num_ports(plugin);
  float* const   ranges = alloc_new(3 * (size_t)n, sizeof(float));
  lilv_plugin_get_port_ranges_float(plugin, ranges, ranges + n,
                                    ranges + 2 * (size_t)n);
  form->controls = alloc_new(n, sizeof(*form->controls));
  form->meters   = alloc_new(n, sizeof(*form->meters));
  for (uint32_t i = 0; i < n; ++i) {
    const float range[] = {ranges[i], ranges[n + i], ranges[2 * (size_t)n + i]};
    read_port(form, world, lilv_plugin_get_port_by_index(plugin, i), range);
  }
  free(ranges);
  form->has_latency = lilv_plugin_has_latency(plugin);
  if (form->has_latency) {
    form->latency_port = lilv_plugin_get_latency_port_index(plugin);
  }
  return true;
}

static void
clear_control(control_input* c)
{
  for (uint32_t i = 0; i < c->n_choices; ++i) {
    free(c->choices[i].label);
  }
  free(c->choices);
  free(c->symbol);
  free(c->unit);
}

void
part_form_clear(part_form* form)
{
  for (uint32_t i = 0; i < form->n_controls; ++i) {
    clear_control(&form->controls[i]);
  }
  for (uint32_t i = 0; i < form->n_meters; ++i) {
    free(form->meters[i].symbol);
  }
  free(form->controls);
  free(form->meters);
}
