// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "host.h"

#include "host_features.h"
#include "presets-demo/render/program/alloc.h"

#include <lv2/core/lv2.h>

#include <math.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

struct host {
  LilvWorld*    world;
  host_features features;
};

struct instance {
  const part_form* form;
  LilvInstance*    lilv;
  float*           ports; ///< One value per port; unused for audio ports
  bool             is_active;
};

host*
host_new(LilvWorld* world)
{
  host* const h = alloc_new(1, sizeof(*h));
  h->world      = world;
  host_features_init(&h->features, HOST_BLOCK_FRAMES);
  return h;
}

void
host_free(host* h)
{
  if (h) {
    host_features_clear(&h->features);
    free(h);
  }
}

static const char*
form_uri(const part_form* form)
{
  return lilv_node_as_uri(lilv_plugin_get_uri(form->plugin));
}

static bool
check_features(const host* h, const part_form* form, failure* f)
{
  bool             ok       = true;
  LilvNodes* const required = lilv_plugin_get_required_features(form->plugin);
  LILV_FOREACH(nodes, i, required)
  {
    const char* const uri = lilv_node_as_uri(lilv_nodes_get(required, i));
    if (ok && !host_features_offer(&h->features, uri)) {
      ok = fail_with(f, "%s: requires <%s>, which is not offered here",
                     form_uri(form), uri);
    }
  }
  lilv_nodes_free(required);
  return ok;
}

/// lilv prints to stderr when a binary is not there, so look first
static bool
check_binary(const part_form* form, failure* f)
{
  const LilvNode* const uri  = lilv_plugin_get_library_uri(form->plugin);
  char* const           path = uri ? lilv_node_get_path(uri, NULL) : NULL;
  const bool            ok   = path && !access(path, R_OK);
  if (!ok) {
    (void)fail_with(f, "%s: its binary %s is missing", form_uri(form),
                    path ? path : "");
  }
  lilv_free(path);
  return ok;
}

/// Refuses a port that is neither audio nor control, unless it may be left open
static bool
check_other_ports(const part_form* form, LilvWorld* world, failure* f)
{
  LilvNode* const optional = lilv_new_uri(world, LV2_CORE__connectionOptional);
  LilvNode* const audio    = lilv_new_uri(world, LV2_CORE__AudioPort);
  LilvNode* const control  = lilv_new_uri(world, LV2_CORE__ControlPort);
  bool            ok       = true;
  for (uint32_t i = 0; i < lilv_plugin_get_num_ports(form->plugin); ++i) {
    const LilvPort* const port = lilv_plugin_get_port_by_index(form->plugin, i);
    if (ok && !lilv_port_is_a(form->plugin, port, audio) &&
        !lilv_port_is_a(form->plugin, port, control) &&
        !lilv_port_has_property(form->plugin, port, optional)) {
      ok = fail_with(
        f, "%s: port '%s' is neither audio nor control", form_uri(form),
        lilv_node_as_string(lilv_port_get_symbol(form->plugin, port)));
    }
  }
  lilv_node_free(control);
  lilv_node_free(audio);
  lilv_node_free(optional);
  return ok;
}

/// Connects control ports; leaves others but audio open
static void
connect_controls(instance* i)
{
  const part_form* const form = i->form;
  for (uint32_t k = 0; k < lilv_plugin_get_num_ports(form->plugin); ++k) {
    lilv_instance_connect_port(i->lilv, k, NULL);
  }
  for (uint32_t k = 0; k < form->n_controls; ++k) {
    const uint32_t port = form->controls[k].index;
    i->ports[port]      = form->controls[k].def;
    lilv_instance_connect_port(i->lilv, port, &i->ports[port]);
  }
  for (uint32_t k = 0; k < form->n_meters; ++k) {
    const uint32_t port = form->meters[k].index;
    lilv_instance_connect_port(i->lilv, port, &i->ports[port]);
  }
}

instance*
instance_new(host* h, const part_form* form, double rate_hz, failure* f)
{
  if (!check_features(h, form, f) || !check_binary(form, f) ||
      !check_other_ports(form, h->world, f)) {
    return NULL;
  }
  LilvInstance* const lilv = lilv_plugin_instantiate(
    form->plugin, rate_hz, host_features_list(&h->features));
  if (!lilv) {
    (void)fail_with(f, "%s: cannot be instantiated at %g Hz", form_uri(form),
                    rate_hz);
    return NULL;
  }
  instance* const i = alloc_new(1, sizeof(*i));
  i->form           = form;
  i->lilv           = lilv;
  i->ports = alloc_new(lilv_plugin_get_num_ports(form->plugin), sizeof(float));
  connect_controls(i);
  return i;
}

void
instance_free(instance* i)
{
  if (i) {
    if (i->is_active) {
      lilv_instance_deactivate(i->lilv);
    }
    lilv_instance_free(i->lilv);
    free(i->ports);
    free(i);
  }
}

bool
instance_set(instance* i, const char* symbol, float value)
{
  for (uint32_t k = 0; k < i->form->n_controls; ++k) {
    if (!strcmp(i->form->controls[k].symbol, symbol)) {
      i->ports[i->form->controls[k].index] = value;
      return true;
    }
  }
  return false;
}

void
instance_connect(instance* i, float* const* in, float* const* out)
{
  for (uint32_t k = 0; k < i->form->n_in; ++k) {
    lilv_instance_connect_port(i->lilv, i->form->in[k], in[k]);
  }
  for (uint32_t k = 0; k < i->form->n_out; ++k) {
    lilv_instance_connect_port(i->lilv, i->form->out[k], out[k]);
  }
}

void
instance_start(instance* i)
{
  lilv_instance_activate(i->lilv);
  i->is_active = true;
  instance_run(i, 0); // Now control outputs such as latency are valid
}

void
instance_run(instance* i, uint32_t n)
{
  lilv_instance_run(i->lilv, n);
}

uint32_t
instance_latency_frames(const instance* i)
{
  const float latency =
    i->form->has_latency ? i->ports[i->form->latency_port] : 0.0F;
  return latency > 0.0F ? (uint32_t)lrintf(latency) : 0;
}

const float*
instance_meter(const instance* i, const char* symbol)
{
  for (uint32_t k = 0; k < i->form->n_meters; ++k) {
    if (!strcmp(i->form->meters[k].symbol, symbol)) {
      return &i->ports[i->form->meters[k].index];
    }
  }
  return NULL;
}
