// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// A minimal host: one plugin from the LV2 path, played in memory.  The output
/// of other hosts is compared with its output.
///
/// It knows nothing of the tables in C: like them, it takes all from the
/// Turtle.

#ifndef TESTS_HOSTS_PART_H
#define TESTS_HOSTS_PART_H

#include <lilv/lilv.h>
#include <lv2/core/lv2.h>

#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define PART_URI_PREFIX "urn:dustcap:"
#define PART_MAX_PORTS  64U
#define PART_RATE_HZ    48000.0

typedef struct {
  const LilvPlugin* plugin;
  LilvInstance*     instance;
  uint32_t          n_ports, n_in, n_out;
  uint32_t          in_port[2], out_port[2];
  float             control[PART_MAX_PORTS];
} part;

static inline bool
part_port_is(const LilvPort*   port,
             LilvWorld*        w,
             const LilvPlugin* p,
             const char*       type)
{
  LilvNode* const node = lilv_new_uri(w, type);
  const bool      is   = lilv_port_is_a(p, port, node);
  lilv_node_free(node);
  return is;
}

static inline void
part_exit(const char* what, const char* which)
{
  fprintf(stderr, "%s: %s\n", what, which);
  exit(2);
}

static inline const LilvPlugin*
part_find(LilvWorld* w, const char* uri)
{
  LilvNode* const node = lilv_new_uri(w, uri);
  if (!node) {
    part_exit("expected a URI", uri);
  }
  const LilvPlugin* const p =
    lilv_plugins_get_by_uri(lilv_world_get_all_plugins(w), node);
  lilv_node_free(node);
  if (!p) {
    part_exit("no such plugin on LV2_PATH", uri);
  }
  return p;
}

/// Describes a plugin, controls at their defaults, without an instance yet
static inline part
part_of(LilvWorld* w, const LilvPlugin* p)
{
  part y = {.plugin = p, .n_ports = lilv_plugin_get_num_ports(p)};
  if (y.n_ports > PART_MAX_PORTS) {
    part_exit("too many ports", lilv_node_as_uri(lilv_plugin_get_uri(p)));
  }
  lilv_plugin_get_port_ranges_float(p, NULL, NULL, y.control);
  for (uint32_t i = 0; i < y.n_ports; ++i) {
    const LilvPort* const port = lilv_plugin_get_port_by_index(p, i);
    if (!part_port_is(port, w, p, LILV_URI_AUDIO_PORT)) {
      continue;
    }
    const bool      is_in = part_port_is(port, w, p, LILV_URI_INPUT_PORT);
    uint32_t* const n     = is_in ? &y.n_in : &y.n_out;
    if (*n == 2) {
      part_exit("more than two channels",
                lilv_node_as_uri(lilv_plugin_get_uri(p)));
    }
    (is_in ? y.in_port : y.out_port)[(*n)++] = i;
  }
  return y;
}

/// Sets a control from "symbol=value"
static inline void
part_set(part* y, LilvWorld* w, const char* setting)
{
  const char* const equals = strchr(setting, '=');
  char              symbol[64];
  if (!equals || (size_t)(equals - setting) >= sizeof(symbol)) {
    part_exit("expected symbol=value", setting);
  }
  snprintf(symbol, sizeof(symbol), "%.*s", (int)(equals - setting), setting);
  LilvNode* const       node = lilv_new_string(w, symbol);
  const LilvPort* const port = lilv_plugin_get_port_by_symbol(y->plugin, node);
  lilv_node_free(node);
  if (!port) {
    part_exit("no such control", setting);
  }
  y->control[lilv_port_get_index(y->plugin, port)] = strtof(equals + 1, NULL);
}

/// Instantiates and activates; `y` must not move afterwards
static inline void
part_start(part* y)
{
  y->instance = lilv_plugin_instantiate(y->plugin, PART_RATE_HZ, NULL);
  if (!y->instance) {
    part_exit("cannot instantiate",
              lilv_node_as_uri(lilv_plugin_get_uri(y->plugin)));
  }
  for (uint32_t i = 0; i < y->n_ports; ++i) {
    lilv_instance_connect_port(y->instance, i, &y->control[i]);
  }
  lilv_instance_activate(y->instance);
}

/// Runs `n` frames, from frame `at` of the buffers on
static inline void
part_run(part* y, float* const* in, float* const* out, uint32_t at, uint32_t n)
{
  for (uint32_t k = 0; k < y->n_in; ++k) {
    lilv_instance_connect_port(y->instance, y->in_port[k], in[k] + at);
  }
  for (uint32_t k = 0; k < y->n_out; ++k) {
    lilv_instance_connect_port(y->instance, y->out_port[k], out[k] + at);
  }
  lilv_instance_run(y->instance, n);
}

static inline void
part_stop(part* y)
{
  lilv_instance_deactivate(y->instance);
  lilv_instance_free(y->instance);
  y->instance = NULL;
}

#endif // TESTS_HOSTS_PART_H
