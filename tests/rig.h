// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// What every stage promises, as checks that take any stage

#ifndef TESTS_RIG_H
#define TESTS_RIG_H

#include "check.h"

#include "common/stage.h"

#include <string.h>

#define PROMISE_MAX_PARAMS 32

/// A stage with memory of its own, for tests
typedef struct {
  stage    st;
  uint32_t n_channels;
} rig;

static inline rig
rig_open(const stage_ops* ops,
         double           rate_hz,
         uint32_t         n_channels,
         const float*     values)
{
  rig   r     = {.n_channels = n_channels};
  void* state = calloc(1, ops->size);
  assert_non_null(state);
  assert_true(stage_init(&r.st, ops, state, rate_hz, n_channels));
  if (values) {
    stage_set(&r.st, values);
    stage_reset(&r.st);
  }
  return r;
}

static inline void
rig_close(rig* r)
{
  free(r->st.state);
}

/// The default of every control
static inline void
rig_defaults(const stage_ops* ops, float* values)
{
  assert_true(ops->n_params <= PROMISE_MAX_PARAMS);
  for (uint32_t i = 0; i < ops->n_params; ++i) {
    values[i] = ops->params[i].def;
  }
}

/// Mono, in place
static inline void
rig_run(rig* r, float* x, uint32_t n)
{
  const float* in[]  = {x};
  float*       out[] = {x};
  assert_int_equal(r->n_channels, 1);
  stage_process(&r->st, in, out, 1, n);
}

/// Gain in dB at `f_hz` from the impulse response, `n` frames of it
static inline double
rig_response_db(rig* r, double f_hz, double rate_hz, uint32_t n)
{
  float* x = calloc(n, sizeof(float));
  assert_non_null(x);
  x[0] = 1.0F;
  stage_reset(&r->st);
  rig_run(r, x, n);
  double re = 0.0;
  double im = 0.0;
  for (uint32_t i = 0; i < n; ++i) {
    const double phase = 2.0 * DSP_PI * f_hz * i / rate_hz;
    re += (double)x[i] * cos(phase);
    im += (double)x[i] * sin(phase);
  }
  free(x);
  return gain_to_db(hypot(re, im) + 1e-30);
}

#define PROMISE_FRAMES 12000
#define PROMISE_JUMP   5000 ///< Off the control grid

/// Noise of +-0.3 that comes and goes, the same on both channels or not
static inline void
promise_signal(float x[2][PROMISE_FRAMES], bool is_same)
{
  uint32_t seed[2] = {11, 12};
  for (uint32_t i = 0; i < PROMISE_FRAMES; ++i) {
    const float level = i / 3000 % 2 ? 0.3F : 0.02F;
    x[0][i]           = level * check_noise(&seed[0]);
    x[1][i]           = is_same ? x[0][i] : level * check_noise(&seed[1]);
  }
}

/// The controls jump to `after` once, at PROMISE_JUMP
static inline void
promise_run(rig*         r,
            float        x[2][PROMISE_FRAMES],
            const float* after,
            uint32_t     block)
{
  uint32_t seed = 1;
  for (uint32_t i = 0; i < PROMISE_FRAMES;) {
    if (i == PROMISE_JUMP && after) {
      stage_set(&r->st, after);
    }
    const uint32_t end =
      i < PROMISE_JUMP && after ? PROMISE_JUMP : PROMISE_FRAMES;
    uint32_t n = block;
    if (block == 0) { // Anything
      check_noise(&seed);
      n = 1 + (seed >> 16) % 700;
    }
    n = end - i < n ? end - i : n;

    const float* in[]  = {x[0] + i, x[1] + i};
    float*       out[] = {x[0] + i, x[1] + i};
    stage_process(&r->st, in, out, r->n_channels, n);
    i += n;
  }
}

/// Same samples for any blocks, in both forms, after a reset too, while the
/// controls go from `before` to `after`
static inline void
promise_any_blocks(const stage_ops* ops,
                   const float*     before,
                   const float*     after)
{
  static float          want[2][PROMISE_FRAMES], got[2][PROMISE_FRAMES];
  static const uint32_t blocks[] = {1, 7, 64, 333, 4096, 0};
  for (uint32_t n_channels = 1; n_channels <= 2; ++n_channels) {
    promise_signal(want, false);
    rig r = rig_open(ops, 48000.0, n_channels, before);
    promise_run(&r, want, after, PROMISE_FRAMES);
    for (uint32_t b = 0; b < sizeof(blocks) / sizeof(blocks[0]); ++b) {
      promise_signal(got, false);
      stage_set(&r.st, before);
      stage_reset(&r.st);
      promise_run(&r, got, after, blocks[b]);
      for (uint32_t k = 0; k < n_channels; ++k) {
        assert_memory_equal(got[k], want[k], sizeof(got[k]));
      }
    }
    rig_close(&r);
  }
}

/// Two equal channels are the mono form twice
static inline void
promise_stereo_is_mono(const stage_ops* ops,
                       const float*     before,
                       const float*     after)
{
  static float mono[2][PROMISE_FRAMES], stereo[2][PROMISE_FRAMES];
  rig          m = rig_open(ops, 48000.0, 1, before);
  rig          s = rig_open(ops, 48000.0, 2, before);
  promise_signal(mono, true);
  promise_signal(stereo, true);
  promise_run(&m, mono, after, 64);
  promise_run(&s, stereo, after, 64);
  assert_memory_equal(stereo[0], mono[0], sizeof(mono[0]));
  assert_memory_equal(stereo[1], mono[0], sizeof(mono[0]));
  rig_close(&m);
  rig_close(&s);
}

/// Controls all at the lower (turn 0), all at the upper (1) or each at a random
/// end of their ranges
static inline void
promise_extremes(const stage_ops* ops, int turn, uint32_t* seed, float* values)
{
  for (uint32_t i = 0; i < ops->n_params; ++i) {
    const bool is_up = turn > 1 ? check_noise(seed) > 0.0F : turn == 1;
    values[i]        = is_up ? ops->params[i].max : ops->params[i].min;
  }
}

/// Inputs of +-STAGE_INPUT_LIMIT come out finite, whatever the controls, at
/// both ends of the rates and after jumps
static inline void
promise_stays_finite(const stage_ops* ops)
{
  static const double rates_hz[] = {8000, 44100, 384000};
  static float        x[2][PROMISE_FRAMES];
  uint32_t            seed = 3;
  for (int r = 0; r < 3; ++r) {
    rig g = rig_open(ops, rates_hz[r], 2, NULL);
    for (int turn = 0; turn < 16; ++turn) {
      float values[PROMISE_MAX_PARAMS];
      promise_extremes(ops, turn, &seed, values);
      stage_set(&g.st, values);
      promise_signal(x, false);
      for (uint32_t i = 0; i < PROMISE_FRAMES; ++i) {
        x[0][i] = copysignf(STAGE_INPUT_LIMIT, x[0][i]);
        x[1][i] = i < PROMISE_FRAMES / 2 ? STAGE_INPUT_LIMIT : 0.0F;
      }
      promise_run(&g, x, NULL, 64);
      for (uint32_t i = 0; i < PROMISE_FRAMES; ++i) {
        assert_true(isfinite(x[0][i]) && isfinite(x[1][i]));
      }
    }
    rig_close(&g);
  }
}

#endif // TESTS_RIG_H
