// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// A stage with memory and values of its own, for tests

#ifndef TESTS_SUPPORT_RIG_H
#define TESTS_SUPPORT_RIG_H

#include "check.h"
#include "settings.h"

#include "common/core/denormals.h"
#include "common/core/stage.h"

#include <string.h>

#define RIG_MAX_PARAMS 32

typedef struct {
  stage    st;
  uint32_t n_channels;
  float    values[RIG_MAX_PARAMS]; ///< After a change: stage_set()
} rig;

/// Sets every control to its default
static inline void
rig_defaults(const stage_ops* ops, float* values)
{
  assert_true(ops->n_params <= RIG_MAX_PARAMS);
  for (uint32_t i = 0; i < ops->n_params; ++i) {
    values[i] = ops->params[i].def;
  }
}

typedef struct {
  const stage_ops* ops;
  float*           values;
} rig_settings;

static inline bool
rig_take(void* to, const char* symbol, float value)
{
  const rig_settings* const s = to;
  for (uint32_t i = 0; i < s->ops->n_params; ++i) {
    const param_info* const p = &s->ops->params[i];
    if (!strcmp(p->symbol, symbol) && value >= p->min && value <= p->max) {
      s->values[i] = value;
      return true;
    }
  }
  return false;
}

/// Sets the defaults, except the controls named in `settings` (settings.h)
static inline void
rig_values(const stage_ops* ops, const char* settings, float* values)
{
  rig_settings to = {ops, values};
  rig_defaults(ops, values);
  const char* const left = settings_apply(settings, rig_take, &to);
  if (left) {
    fail_msg("the stage does not take: %s", left);
  }
}

/// Defines for a test of stage `x`: `x_params x_with(const char*)` returns the
/// defaults, except the controls named in "symbol=value ..."
#define RIG_PARAMS(x)                                     \
  static inline x##_params x##_with(const char* settings) \
  {                                                       \
    x##_params p = {0};                                   \
    rig_values(&x##_ops, settings, (float*)(void*)&p);    \
    return p;                                             \
  }

/// Opens at `values` (an x_params, or floats in row order), or at the defaults
/// if NULL
static inline rig
rig_open(const stage_ops* ops,
         double           rate_hz,
         uint32_t         n_channels,
         const void*      values)
{
  rig   r     = {.n_channels = n_channels};
  void* state = calloc(1, ops->size);
  assert_non_null(state);
  assert_true(stage_init(&r.st, ops, state, rate_hz, n_channels));
  rig_defaults(ops, r.values);
  if (values) {
    memcpy(r.values, values, ops->n_params * sizeof(float));
    stage_set(&r.st, r.values);
    stage_reset(&r.st);
  }
  return r;
}

static inline void
rig_close(rig* r)
{
  free(r->st.state);
}

/// Lets the controls glide to `values` from now on
static inline void
rig_move(rig* r, const void* values)
{
  memcpy(r->values, values, r->st.ops->n_params * sizeof(float));
  stage_set(&r->st, r->values);
}

static inline float*
rig_value(rig* r, const char* symbol)
{
  for (uint32_t i = 0; i < r->st.ops->n_params; ++i) {
    if (!strcmp(r->st.ops->params[i].symbol, symbol)) {
      return &r->values[i];
    }
  }
  fail_msg("no control %s", symbol);
  return NULL;
}

/// Sets one control and jumps to it
static inline void
rig_set(rig* r, const char* symbol, double value)
{
  *rig_value(r, symbol) = (float)value;
  stage_set(&r->st, r->values);
  stage_reset(&r->st);
}

/// Runs a mono stage; `out` may be `in`
static inline void
rig_run(rig* r, const float* in, float* out, uint32_t n)
{
  assert_int_equal(r->n_channels, 1);
  stage_process(&r->st, &in, &out, 1, n);
}

/// Runs both channels in place, as the shell does
static inline void
rig_play(rig* r, float* left, float* right, uint32_t n)
{
  assert_int_equal(r->n_channels, 2);
  float* const  bus[] = {left, right};
  const fp_mode mode  = denormals_flush();
  stage_process(&r->st, (const float* const*)bus, bus, 2, n);
  denormals_restore(mode);
}

/// Returns the gain in dB at `f_hz`, from `n` frames of the impulse response
static inline double
rig_response_db(rig* r, double f_hz, double rate_hz, uint32_t n)
{
  float* x = calloc(n, sizeof(float));
  assert_non_null(x);
  x[0] = 1.0F;
  stage_reset(&r->st);
  rig_run(r, x, x, n);
  const double gain = 0.5 * n * check_tone(x, n, f_hz, rate_hz);
  free(x);
  return gain_to_db(gain + 1e-30);
}

#endif // TESTS_SUPPORT_RIG_H
