// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// The built bundle as a host sees it: loaded by lilv, run port by port

#ifndef TESTS_SUPPORT_BUNDLE_H
#define TESTS_SUPPORT_BUNDLE_H

#include "check.h"

#include "plugins/shell.h"

#include <lilv/lilv.h>

#include <string.h>

#define MAX_PORTS 64

typedef struct {
  LilvWorld*         world;
  const LilvPlugins* plugins;
} bundle;

/// BUNDLE_DIR comes from the build: the folder with the module and its Turtle
static inline bundle
bundle_load(void)
{
  bundle b = {.world = lilv_world_new()};
  assert_non_null(b.world);

  LilvNode* const dir = lilv_new_file_uri(b.world, NULL, BUNDLE_DIR "/");
  lilv_world_load_bundle(b.world, dir);
  lilv_node_free(dir);
  b.plugins = lilv_world_get_all_plugins(b.world);
  return b;
}

static inline void
bundle_free(bundle* b)
{
  lilv_world_free(b->world);
}

static inline const LilvPlugin*
bundle_plugin(const bundle* b, const char* uri)
{
  LilvNode* const         node = lilv_new_uri(b->world, uri);
  const LilvPlugin* const p    = lilv_plugins_get_by_uri(b->plugins, node);
  lilv_node_free(node);
  assert_non_null(p);
  return p;
}

/// A running instance with every port connected
typedef struct {
  plugin_form   form;
  LilvInstance* instance;
  uint32_t      n_params, n_meters;
  float         control[MAX_PORTS]; ///< Values of all control ports
} player;

static inline player
player_new(const bundle* b, const plugin_form* form, double rate_hz)
{
  const LilvPlugin* const p = bundle_plugin(b, form->uri);
  player                  y = {.form     = *form,
                               .n_params = shell_param_count(form->plugin),
                               .n_meters = shell_meter_count(form->plugin)};
  y.instance                = lilv_plugin_instantiate(p, rate_hz, NULL);
  assert_non_null(y.instance);
  for (uint32_t i = 0; i < y.n_params; ++i) {
    y.control[i] = shell_param(form->plugin, i)->def;
  }
  return y;
}

/// Connects the controls (after `y` has reached its final address)
static inline void
player_start(player* y)
{
  for (uint32_t i = 0; i < y->n_params + y->n_meters; ++i) {
    lilv_instance_connect_port(y->instance, i, &y->control[i]);
  }
  lilv_instance_activate(y->instance);
}

static inline void
player_free(player* y)
{
  lilv_instance_deactivate(y->instance);
  lilv_instance_free(y->instance);
}

/// Returns the index of a control input or output
static inline uint32_t
player_port(const player* y, const char* symbol)
{
  const int port = shell_port(y->form.plugin, symbol);
  if (port < 0) {
    fail_msg("no port %s in %s", symbol, y->form.uri);
  }
  return (uint32_t)port;
}

/// Calls run() once, from `at` on
static inline void
player_run(player*       y,
           float* const* in,
           float* const* out,
           uint32_t      at,
           uint32_t      n)
{
  const uint32_t audio = y->n_params + y->n_meters;
  for (uint32_t k = 0; k < y->form.n_in; ++k) {
    lilv_instance_connect_port(y->instance, audio + k, in[k] + at);
  }
  for (uint32_t k = 0; k < y->form.n_out; ++k) {
    lilv_instance_connect_port(y->instance, audio + y->form.n_in + k,
                               out[k] + at);
  }
  lilv_instance_run(y->instance, n);
}

/// Runs `n` frames in blocks of `block`
static inline void
player_play(player*       y,
            float* const* in,
            float* const* out,
            uint32_t      n,
            uint32_t      block)
{
  for (uint32_t at = 0; at < n; at += block) {
    player_run(y, in, out, at, n - at < block ? n - at : block);
  }
}

/// Calls `f` for each form of each plugin
static inline void
for_each_form(void (*f)(const plugin_form* form, void* data), void* data)
{
  const plugin* p = NULL;
  for (uint32_t n = 0; (p = shell_plugin(n)); ++n) {
    for (uint32_t i = 0; i < shell_form_count(p); ++i) {
      const plugin_form form = shell_form(p, i);
      f(&form, data);
    }
  }
}

#endif // TESTS_SUPPORT_BUNDLE_H
