// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "preset_check.h"

#include "preset_values.h"

#include "presets-demo/render/program/alloc.h"
#include "presets-demo/render/program/printable.h"

#include <lv2/core/lv2.h>
#include <lv2/presets/presets.h>

#include <math.h>
#include <stdlib.h>
#include <string.h>

/// The RDF predicates that are looked up
typedef struct {
  LilvNode *preset, *port, *symbol, *value, *label;
} words;

static words
words_new(LilvWorld* world)
{
  return (words){
    .preset = lilv_new_uri(world, LV2_PRESETS__Preset),
    .port   = lilv_new_uri(world, LV2_CORE__port),
    .symbol = lilv_new_uri(world, LV2_CORE__symbol),
    .value  = lilv_new_uri(world, LV2_PRESETS__value),
    .label  = lilv_new_uri(world, LILV_NS_RDFS "label"),
  };
}

static void
words_free(words* w)
{
  lilv_node_free(w->preset);
  lilv_node_free(w->port);
  lilv_node_free(w->symbol);
  lilv_node_free(w->value);
  lilv_node_free(w->label);
}

/// Checks one port of a preset; returns false with a failure if it does not
/// fit. `seen` has a place for each control.
static bool
check_port(LilvWorld*      world,
           const words*    w,
           const part*     p,
           const LilvNode* port,
           bool*           seen,
           failure*        f)
{
  LilvNode* const   symbol = lilv_world_get(world, port, w->symbol, NULL);
  LilvNode* const   value  = lilv_world_get(world, port, w->value, NULL);
  const char* const name   = symbol ? lilv_node_as_string(symbol) : "";
  const int         i      = part_control(p, name);
  bool              ok     = false;
  if (i < 0) {
    (void)part_unknown_control(p, name, f);
  } else if (!value ||
             (!lilv_node_is_float(value) && !lilv_node_is_int(value))) {
    (void)fail_with(f, "%s has no number; expected one", name);
  } else {
    const control_input* const c = &p->forms[0].controls[i];
    const float                x = lilv_node_as_float(value);
    seen[i]                      = true;
    ok                           = (x >= c->min && x <= c->max) ||
         fail_with(f, "%s = %g is out of range; expected %g to %g", name,
                   (double)x, (double)c->min, (double)c->max);
  }
  lilv_node_free(value);
  lilv_node_free(symbol);
  return ok;
}

static bool
check_preset(LilvWorld*      world,
             const words*    w,
             const part*     p,
             const LilvNode* preset,
             failure*        f)
{
  const part_form* const form = &p->forms[0];
  bool* const            seen = alloc_new(form->n_controls, sizeof(*seen));
  LilvNodes* const ports = lilv_world_find_nodes(world, preset, w->port, NULL);
  bool             ok    = true;
  LILV_FOREACH(nodes, i, ports)
  {
    ok = ok && check_port(world, w, p, lilv_nodes_get(ports, i), seen, f);
  }
  for (uint32_t i = 0; ok && i < form->n_controls; ++i) {
    const char* const symbol = form->controls[i].symbol;
    if (!seen[i] && preset_values_hold(p, symbol)) {
      ok = fail_with(f, "lacks %s; expected all controls of a sound", symbol);
    }
  }
  lilv_nodes_free(ports);
  free(seen);
  return ok;
}

static void
check_form(const catalogue* parts,
           const words*     w,
           const part*      p,
           const part_form* form,
           const LilvNodes* known,
           FILE*            out,
           preset_counts*   counts)
{
  LilvWorld* const world   = parts->world;
  LilvNodes* const presets = lilv_plugin_get_related(form->plugin, w->preset);
  LILV_FOREACH(nodes, i, presets)
  {
    const LilvNode* const preset = lilv_nodes_get(presets, i);
    failure               f      = {""};
    if (lilv_nodes_contains(known, preset)) {
      continue; // The bundle's own
    }
    (void)lilv_world_load_resource(world, preset);
    ++counts->n;
    if (!check_preset(world, w, p, preset, &f)) {
      LilvNode* const label = lilv_world_get(world, preset, w->label, NULL);
      printable_print(out, "preset '%s' of %s does not fit: %s\n",
                      label ? lilv_node_as_string(label)
                            : lilv_node_as_uri(preset),
                      p->stem, f.text);
      lilv_node_free(label);
      ++counts->n_bad;
    }
  }
  lilv_nodes_free(presets);
}

bool
preset_check(const catalogue* parts,
             const char*      folder,
             FILE*            out,
             preset_counts*   counts,
             failure*         f)
{
  words             w = words_new(parts->world);
  LilvNodes** const known =
    alloc_new((size_t)parts->n_parts * PART_MAX_FORMS, sizeof(*known));
  *counts = (preset_counts){0};
  for (uint32_t i = 0; i < parts->n_parts; ++i) {
    for (uint32_t k = 0; k < parts->parts[i].n_forms; ++k) {
      known[i * PART_MAX_FORMS + k] =
        lilv_plugin_get_related(parts->parts[i].forms[k].plugin, w.preset);
    }
  }
  const bool ok = catalogue_load_bundle(parts->world, folder, f);
  for (uint32_t i = 0; i < parts->n_parts; ++i) {
    const part* const p = &parts->parts[i];
    for (uint32_t k = 0; k < p->n_forms; ++k) {
      LilvNodes* const old = known[i * PART_MAX_FORMS + k];
      if (ok) {
        check_form(parts, &w, p, &p->forms[k], old, out, counts);
      }
      lilv_nodes_free(old);
    }
  }
  free(known);
  words_free(&w);
  return ok;
}
