// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// What every stage promises, checked on the bare stage: the same samples for
/// any cut into blocks, after a reset, and in mono and stereo; finite whatever
/// comes in; no click whatever control jumps.

#ifndef TESTS_PROMISES_H
#define TESTS_PROMISES_H

#include "check.h"

#include "common/stage.h"

#include <string.h>

#define PROMISE_MAX_PARAMS 32

static const double promise_rates[] = {8000,  11025, 22050,  44100, 48000,
                                       88200, 96000, 192000, 384000};

/// A stage on the heap with its values
typedef struct {
  stage st;
  void* state;
  float values[PROMISE_MAX_PARAMS];
} promise_rig;

/// With the defaults
static inline promise_rig
promise_rig_new(const stage_ops* ops, double rate_hz, uint32_t n_channels)
{
  promise_rig r = {.state = calloc(1, ops->size)};
  assert_non_null(r.state);
  assert_true(stage_init(&r.st, ops, r.state, rate_hz, n_channels));
  for (uint32_t i = 0; i < ops->n_params; ++i) {
    r.values[i] = ops->params[i].def;
  }
  return r;
}

static inline void
promise_rig_free(promise_rig* r)
{
  free(r->state);
}

static inline float*
promise_value(promise_rig* r, const char* symbol)
{
  for (uint32_t i = 0; i < r->st.ops->n_params; ++i) {
    if (!strcmp(r->st.ops->params[i].symbol, symbol)) {
      return &r->values[i];
    }
  }
  fail_msg("no control %s", symbol);
  return NULL;
}

/// Set one control and be there
static inline void
promise_set(promise_rig* r, const char* symbol, double value)
{
  *promise_value(r, symbol) = (float)value;
  stage_set(&r->st, r->values);
  stage_reset(&r->st);
}

static inline void
promise_run(promise_rig* r, const float* in, float* out, uint32_t n)
{
  stage_process(&r->st, &in, &out, 1, n);
}

/// Bursts of noise between near silence and full scale
static inline void
promise_bursts(float* x, uint32_t n, uint32_t seed)
{
  for (uint32_t i = 0; i < n; ++i) {
    const float level = (i / 3000) % 2 ? 0.9F : 0.001F;
    x[i]              = level * check_noise(&seed);
  }
}

enum { PROMISE_N = 20000 };

/// The same output, bit for bit, in blocks of 1, 7, 64, 333, 4096 and mixed,
/// and again after a reset
static inline void
promise_any_split(promise_rig* r)
{
  static const uint32_t sizes[] = {1, 7, 64, 333, 4096};
  static float          in[PROMISE_N], want[PROMISE_N], got[PROMISE_N];
  promise_bursts(in, PROMISE_N, 1);
  stage_reset(&r->st);
  promise_run(r, in, want, PROMISE_N);
  for (uint32_t k = 0; k < 6; ++k) {
    stage_reset(&r->st);
    for (uint32_t i = 0, j = 0; i < PROMISE_N; ++j) {
      const uint32_t size = sizes[k < 5 ? k : j % 5];
      const uint32_t left = PROMISE_N - i;
      const uint32_t n    = size < left ? size : left;
      promise_run(r, in + i, got + i, n);
      i += n;
    }
    assert_memory_equal(got, want, sizeof(want));
  }
}

/// Two equal channels come out as the one of the mono form, bit for bit; in
/// place as well
static inline void
promise_mono_is_stereo(promise_rig* mono)
{
  static float in[PROMISE_N], want[PROMISE_N];
  static float left[PROMISE_N], right[PROMISE_N];
  promise_bursts(in, PROMISE_N, 2);
  stage_reset(&mono->st);
  promise_run(mono, in, want, PROMISE_N);

  promise_rig stereo = promise_rig_new(mono->st.ops, 48000.0, 2);
  stage_set(&stereo.st, mono->values);
  stage_reset(&stereo.st);
  memcpy(left, in, sizeof(in));
  memcpy(right, in, sizeof(in));
  float* const bus[] = {left, right};
  stage_process(&stereo.st, (const float* const*)bus, bus, 2, PROMISE_N);
  assert_memory_equal(left, want, sizeof(want));
  assert_memory_equal(right, want, sizeof(want));
  promise_rig_free(&stereo);
}

/// Random values, often at the ends of their ranges
static inline void
promise_random_values(promise_rig* r, uint32_t* seed)
{
  for (uint32_t i = 0; i < r->st.ops->n_params; ++i) {
    const param_info* p  = &r->st.ops->params[i];
    const float       at = clampf(0.5F + check_noise(seed), 0.0F, 1.0F);
    const float       v  = p->min + at * (p->max - p->min);
    r->values[i]         = p->kind == PARAM_NUM ? v : roundf(v);
  }
}

/// One sample of five kinds of input: noise, random signs, DC, tiny, silence
static inline float
promise_abusive_sample(uint32_t kind, uint32_t* seed)
{
  static const float noise[]  = {STAGE_INPUT_LIMIT, 0, 0, 1e-30F, 0};
  static const float signs[]  = {0, STAGE_INPUT_LIMIT, 0, 0, 0};
  static const float steady[] = {0, 0, STAGE_INPUT_LIMIT, 0, 0};
  const float        u        = check_noise(seed);
  return noise[kind] * u + copysignf(signs[kind], u) + steady[kind];
}

/// One second of abuse at one rate, controls jumping between random values
static inline void
promise_abuse(const stage_ops* ops, double rate_hz, uint32_t seed)
{
  enum { BLOCK = 100 };
  promise_rig r = promise_rig_new(ops, rate_hz, 1);
  for (uint32_t block = 0; block < rate_hz / BLOCK; ++block) {
    float x[BLOCK];
    promise_random_values(&r, &seed);
    stage_set(&r.st, r.values);
    for (uint32_t i = 0; i < BLOCK; ++i) {
      x[i] = promise_abusive_sample(block % 5, &seed);
    }
    promise_run(&r, x, x, BLOCK);
    for (uint32_t i = 0; i < BLOCK; ++i) {
      assert_true(isfinite(x[i]));
    }
  }
  promise_rig_free(&r);
}

static inline void
promise_finite(const stage_ops* ops)
{
  for (uint32_t i = 0; i < sizeof(promise_rates) / sizeof(double); ++i) {
    promise_abuse(ops, promise_rates[i], i + 1);
  }
}

enum { PROMISE_TAPS = 767 };

/// Linear-phase high-pass at 4 kHz (48 kHz): -6 dB at 3.8 kHz, below -90 dB
/// under 3.55 kHz.  A 4-term Blackman-Harris window (F. J. Harris, Proc. IEEE
/// 66(1), 1978).
static inline void
promise_high_pass(const float* in, float* out, uint32_t n)
{
  static double h[PROMISE_TAPS];
  const int     m  = PROMISE_TAPS / 2;
  const double  fc = 3800.0 / 48000.0;
  for (int i = 0; i < PROMISE_TAPS; ++i) {
    const double t = 2.0 * DSP_PI * i / (PROMISE_TAPS - 1);
    const double w = 0.35875 - 0.48829 * cos(t) + 0.14128 * cos(2.0 * t) -
                     0.01168 * cos(3.0 * t);
    const int k = i - m;
    h[i] = k ? -w * sin(2.0 * DSP_PI * fc * k) / (DSP_PI * k) : 1.0 - 2.0 * fc;
  }
  for (uint32_t i = 0; i < n; ++i) {
    double sum = 0.0;
    for (uint32_t j = 0; j < PROMISE_TAPS && j <= i; ++j) {
      sum += h[j] * (double)in[i - j];
    }
    out[i] = (float)sum;
  }
}

enum { CLICK_SETTLE = 48000, CLICK_N = 16384 };

/// Largest residue above 4 kHz, in dBFS, of `values` jumping in at frame
/// `at` on a settled 220 Hz sine at -18 dBFS RMS; -inf is -240
static inline double
promise_click_db(promise_rig* r, const float* to, uint32_t at)
{
  static float x[CLICK_SETTLE + CLICK_N], y[CLICK_SETTLE + CLICK_N];
  static float high[CLICK_N];
  const double peak = db_to_gain(ALIGN_RMS_DBFS) * sqrt(2.0);
  check_sine(x, CLICK_SETTLE + CLICK_N, 220.0, peak, 48000.0);

  stage_set(&r->st, r->values);
  stage_reset(&r->st);
  promise_run(r, x, y, CLICK_SETTLE + at);
  stage_set(&r->st, to);
  promise_run(r, x + CLICK_SETTLE + at, y + CLICK_SETTLE + at, CLICK_N - at);

  // The filter needs its length to fill
  promise_high_pass(y + CLICK_SETTLE - 1000, high, CLICK_N);
  float worst = 1e-12F;
  for (uint32_t i = 1000; i < CLICK_N; ++i) {
    const float size = fabsf(high[i]);
    worst            = size > worst ? size : worst;
  }
  return gain_to_db((double)worst);
}

/// One control from `from` to `to`; fails above -80 dBFS
static inline double
promise_jump(promise_rig* r, uint32_t i, float from, float to)
{
  float values[PROMISE_MAX_PARAMS];
  memcpy(values, r->values, sizeof(values));
  const float home = r->values[i];
  r->values[i]     = from;
  values[i]        = to;
  const double db  = promise_click_db(r, values, 1000 + 37 * i);
  r->values[i]     = home;
  if (db > -80.0) {
    fail_msg("%s from %g to %g leaves %.1f dBFS", r->st.ops->params[i].symbol,
             (double)from, (double)to, db);
  }
  return db;
}

/// Every control from its value in `r` to both ends (all choices of a
/// selection) and back leaves less than -80 dBFS above 4 kHz
static inline void
promise_no_click(promise_rig* r)
{
  double worst = -240.0;
  for (uint32_t i = 0; i < r->st.ops->n_params; ++i) {
    const param_info* p     = &r->st.ops->params[i];
    const float       home  = r->values[i];
    const uint32_t    stops = p->kind == PARAM_SEL ? (uint32_t)p->max + 1U : 2U;
    for (uint32_t k = 0; k < stops; ++k) {
      const float way = (float)k / (float)(stops - 1U);
      const float v =
        k == stops - 1U ? p->max : p->min + way * (p->max - p->min);
      worst = fmax(worst, promise_jump(r, i, home, v));
      worst = fmax(worst, promise_jump(r, i, v, home));
    }
  }
  print_message("# worst click %.1f dBFS above 4 kHz\n", worst);
}

#endif // TESTS_PROMISES_H
