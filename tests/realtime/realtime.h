// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// One instance of a plugin as the audio thread sees it, without lilv or a test
/// library in between, for programs that run under sanitizers and counters

#ifndef TESTS_REALTIME_REALTIME_H
#define TESTS_REALTIME_REALTIME_H

#include "plugins/shell.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define REALTIME_RATE_HZ   48000.0
#define REALTIME_BLOCK     64U
#define REALTIME_MAX_PORTS 64

typedef struct {
  const LV2_Descriptor* type;
  plugin_form           form;
  LV2_Handle            handle;
  uint32_t              n_params, n_meters;
  float                 control[REALTIME_MAX_PORTS]; ///< And meters
  float                 in[MAX_CHANNELS][REALTIME_BLOCK];
  float                 out[MAX_CHANNELS][REALTIME_BLOCK];
  uint32_t              seed; ///< For realtime_noise()
} realtime;

/// Where descriptors come from: shell_descriptor(), or lv2_descriptor() of the
/// built bundle
typedef const LV2_Descriptor* (*realtime_source)(uint32_t index);

/// Finds descriptor `index` and the form it stands for; false beyond the last
static inline bool
realtime_find(realtime* r, realtime_source source, uint32_t index)
{
  const plugin* p = NULL;
  uint32_t      i = 0;
  for (uint32_t n = 0; (p = shell_plugin(n)); ++n) {
    for (uint32_t f = 0; f < shell_form_count(p); ++f, ++i) {
      if (i == index) {
        *r = (realtime){.type     = source(index),
                        .form     = shell_form(p, f),
                        .n_params = shell_param_count(p),
                        .n_meters = shell_meter_count(p),
                        .seed     = 1};
        return true;
      }
    }
  }
  return false;
}

/// Connects every port to its place in `r`, which must not move afterwards
static inline void
realtime_connect(realtime* r)
{
  uint32_t port = 0;
  for (uint32_t i = 0; i < r->n_params + r->n_meters; ++i, ++port) {
    r->type->connect_port(r->handle, port, &r->control[i]);
  }
  for (uint32_t k = 0; k < r->form.n_in; ++k, ++port) {
    r->type->connect_port(r->handle, port, r->in[k]);
  }
  for (uint32_t k = 0; k < r->form.n_out; ++k, ++port) {
    r->type->connect_port(r->handle, port, r->out[k]);
  }
}

/// Instantiates, sets the defaults, connects and activates, or exits
static inline void
realtime_open(realtime* r)
{
  r->handle = r->type->instantiate(r->type, REALTIME_RATE_HZ, "", NULL);
  if (!r->handle) {
    fprintf(stderr, "%s: cannot be instantiated\n", r->form.uri);
    exit(1);
  }
  for (uint32_t i = 0; i < r->n_params; ++i) {
    r->control[i] = shell_param(r->form.plugin, i)->def;
  }
  realtime_connect(r);
  r->type->activate(r->handle);
}

static inline void
realtime_close(realtime* r)
{
  if (r->type->deactivate) {
    r->type->deactivate(r->handle);
  }
  r->type->cleanup(r->handle);
}

/// Uniform in -1 .. 1
static inline float
realtime_noise(realtime* r)
{
  r->seed = r->seed * 1664525U + 1013904223U;
  return (float)(int32_t)r->seed / 2147483648.0F;
}

static inline void
realtime_fill(realtime* r, float level)
{
  for (uint32_t k = 0; k < MAX_CHANNELS; ++k) {
    for (uint32_t i = 0; i < REALTIME_BLOCK; ++i) {
      r->in[k][i] = level * realtime_noise(r);
    }
  }
}

/// Fills every frame with the same value: silence, NaN
static inline void
realtime_hold(realtime* r, float x)
{
  for (uint32_t k = 0; k < MAX_CHANNELS; ++k) {
    for (uint32_t i = 0; i < REALTIME_BLOCK; ++i) {
      r->in[k][i] = x;
    }
  }
}

/// Moves control `i` to somewhere in its range, often to an end
static inline void
realtime_move(realtime* r, uint32_t i)
{
  const param_info* const p  = shell_param(r->form.plugin, i);
  const float             at = clampf(0.5F + realtime_noise(r), 0.0F, 1.0F);
  const float             x  = p->min + at * (p->max - p->min);
  r->control[i]              = p->kind == PARAM_NUM ? x : roundf(x);
}

/// Fills the input of block `i`: silence, denormals, full scale, bad samples
/// and, mostly, noise at a playing level
static inline void
realtime_feed(realtime* r, uint32_t i)
{
  static const float bad[] = {NAN, INFINITY, -INFINITY, 1e30F, -1e30F};
  if (i % 64 < 8) {
    realtime_hold(r, 0.0F);
  } else if (i % 64 < 16) {
    realtime_fill(r, 1e-39F);
  } else if (i % 64 < 24) {
    realtime_fill(r, 1.0F);
  } else if (i % 16 == 8) {
    realtime_hold(r, bad[i / 16 % 5]);
  } else {
    realtime_fill(r, 0.2F);
  }
}

/// Moves the controls for block `i`: one in each block, all of them now and
/// then, so that some hundred blocks bring every value of every choice
static inline void
realtime_sweep(realtime* r, uint32_t i)
{
  realtime_move(r, i % r->n_params);
  for (uint32_t k = 0; k < r->n_params && i % 16 == 0; ++k) {
    realtime_move(r, k);
  }
}

/// Called before and after the calls of connect_port() and run() of a block
typedef void (*realtime_watch)(bool is_begin);

/// Plays `n_blocks` of 1 to REALTIME_BLOCK frames; connects the ports anew for
/// each
static inline void
realtime_play(realtime* r, uint32_t n_blocks, realtime_watch watch)
{
  for (uint32_t i = 0; i < n_blocks; ++i) {
    realtime_feed(r, i);
    realtime_sweep(r, i);
    watch(true);
    realtime_connect(r);
    r->type->run(r->handle, 1 + i * 37 % REALTIME_BLOCK);
    watch(false);
  }
}

#endif // TESTS_REALTIME_REALTIME_H
