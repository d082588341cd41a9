// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// The promises of every stage, checked on the bare stage: the same samples for
/// any cut into blocks, after a reset, and in mono and stereo; finite for any
/// input; no click when any control jumps.

#ifndef TESTS_SUPPORT_PROMISES_H
#define TESTS_SUPPORT_PROMISES_H

#include "click.h"
#include "rig.h"

static const double promise_rates[] = {8000,  11025, 22050,  44100, 48000,
                                       88200, 96000, 192000, 384000};

enum {
  PROMISE_FRAMES = 20000,
  PROMISE_JUMP   = 5000, ///< Off the control grid
};

/// Makes bursts of noise between near silence and full scale
static inline void
promise_bursts(float* x, uint32_t n, uint32_t seed)
{
  for (uint32_t i = 0; i < n; ++i) {
    const float level = (i / 3000) % 2 ? 0.9F : 0.001F;
    x[i]              = level * check_noise(&seed);
  }
}

/// Plays from a reset at its values, in blocks of `block` frames or of any
/// length (0); the controls jump to `after` (NULL: stay) once, at PROMISE_JUMP.
/// `out` may be `in`.
static inline void
promise_run(rig*        r,
            float       in[2][PROMISE_FRAMES],
            float       out[2][PROMISE_FRAMES],
            const void* after,
            uint32_t    block)
{
  uint32_t seed = 1;
  stage_set(&r->st, r->values);
  stage_reset(&r->st);
  for (uint32_t i = 0; i < PROMISE_FRAMES;) {
    if (i == PROMISE_JUMP && after) {
      stage_set(&r->st, after);
    }
    const uint32_t end =
      i < PROMISE_JUMP && after ? PROMISE_JUMP : PROMISE_FRAMES;
    uint32_t n = block;
    if (block == 0) {
      check_noise(&seed);
      n = 1 + (seed >> 16) % 700;
    }
    n = end - i < n ? end - i : n;

    const float* x[] = {in[0] + i, in[1] + i};
    float*       y[] = {out[0] + i, out[1] + i};
    stage_process(&r->st, x, y, r->n_channels, n);
    i += n;
  }
}

/// Holds that the output is the same, bit for bit, in blocks of 1, 7, 64, 333,
/// 4096 and any length, in place or not, and again after a reset, while the
/// controls go from those of `r` to `after` (NULL: stay)
static inline void
promise_any_blocks(rig* r, const void* after)
{
  static const uint32_t blocks[] = {1, 7, 64, 333, 4096, 0};
  static float          in[2][PROMISE_FRAMES], want[2][PROMISE_FRAMES];
  static float          got[2][PROMISE_FRAMES];
  promise_bursts(in[0], PROMISE_FRAMES, 1);
  promise_bursts(in[1], PROMISE_FRAMES, 12);
  promise_run(r, in, want, after, PROMISE_FRAMES);
  for (uint32_t b = 0; b < sizeof(blocks) / sizeof(blocks[0]); ++b) {
    memcpy(got, in, sizeof(in));
    promise_run(r, got, got, after, blocks[b]);
    for (uint32_t k = 0; k < r->n_channels; ++k) {
      assert_memory_equal(got[k], want[k], sizeof(want[k]));
    }
  }
}

/// Holds that two equal channels at 48 kHz are the mono form twice, bit for
/// bit, while the controls go from those of `mono` to `after` (NULL: stay)
static inline void
promise_stereo_is_mono(rig* mono, const void* after)
{
  static float in[2][PROMISE_FRAMES], want[2][PROMISE_FRAMES];
  promise_bursts(in[0], PROMISE_FRAMES, 2);
  memcpy(in[1], in[0], sizeof(in[0]));
  promise_run(mono, in, want, after, PROMISE_FRAMES);

  rig stereo = rig_open(mono->st.ops, 48000.0, 2, mono->values);
  promise_run(&stereo, in, in, after, 64);
  assert_memory_equal(in[0], want[0], sizeof(want[0]));
  assert_memory_equal(in[1], want[0], sizeof(want[0]));
  rig_close(&stereo);
}

/// Holds both in both forms, while the controls go from `before` to `after`
static inline void
promise_both_forms(const stage_ops* ops, const void* before, const void* after)
{
  rig mono   = rig_open(ops, 48000.0, 1, before);
  rig stereo = rig_open(ops, 48000.0, 2, before);
  promise_any_blocks(&mono, after);
  promise_any_blocks(&stereo, after);
  promise_stereo_is_mono(&mono, after);
  rig_close(&mono);
  rig_close(&stereo);
}

/// Sets random values, often at the ends of their ranges
static inline void
promise_random_values(rig* r, uint32_t* seed)
{
  for (uint32_t i = 0; i < r->st.ops->n_params; ++i) {
    const param_info* p  = &r->st.ops->params[i];
    const float       at = clampf(0.5F + check_noise(seed), 0.0F, 1.0F);
    const float       v  = p->min + at * (p->max - p->min);
    r->values[i]         = p->kind == PARAM_NUM ? v : roundf(v);
  }
}

/// Sets the controls all at the lower (turn 0), all at the upper (1) or each at
/// a random end of their ranges
static inline void
promise_extremes(rig* r, uint32_t turn, uint32_t* seed)
{
  for (uint32_t i = 0; i < r->st.ops->n_params; ++i) {
    const param_info* p     = &r->st.ops->params[i];
    const bool        is_up = turn > 1 ? check_noise(seed) > 0.0F : turn == 1;
    r->values[i]            = is_up ? p->max : p->min;
  }
}

/// Returns a sample of one of five inputs: noise, random signs, DC, tiny,
/// silence
static inline float
promise_abusive_sample(uint32_t kind, uint32_t* seed)
{
  static const float noise[]  = {STAGE_INPUT_LIMIT, 0, 0, 1e-30F, 0};
  static const float signs[]  = {0, STAGE_INPUT_LIMIT, 0, 0, 0};
  static const float steady[] = {0, 0, STAGE_INPUT_LIMIT, 0, 0};
  const float        u        = check_noise(seed);
  return noise[kind] * u + copysignf(signs[kind], u) + steady[kind];
}

/// Plays one second of input of all kinds, controls jumping between random
/// values
static inline void
promise_finite_in_motion(rig* r, double rate_hz, uint32_t seed)
{
  enum { BLOCK = 100 };
  for (uint32_t block = 0; block < rate_hz / BLOCK; ++block) {
    float  x[2][BLOCK];
    float* bus[] = {x[0], x[1]};
    promise_random_values(r, &seed);
    stage_set(&r->st, r->values);
    for (uint32_t i = 0; i < BLOCK; ++i) {
      x[0][i] = promise_abusive_sample(block % 5, &seed);
      x[1][i] = promise_abusive_sample((block + i / 50) % 5, &seed);
    }
    stage_process(&r->st, (const float* const*)bus, bus, r->n_channels, BLOCK);
    for (uint32_t i = 0; i < BLOCK; ++i) {
      assert_true(isfinite(x[0][i]) && isfinite(x[1][i]));
    }
  }
}

/// Holds that inputs within +-STAGE_INPUT_LIMIT come out finite at all rates,
/// whatever the controls do
static inline void
promise_finite(const stage_ops* ops, uint32_t n_channels)
{
  for (uint32_t i = 0; i < sizeof(promise_rates) / sizeof(double); ++i) {
    rig r = rig_open(ops, promise_rates[i], n_channels, NULL);
    promise_finite_in_motion(&r, promise_rates[i], i + 1);
    rig_close(&r);
  }
}

/// Holds the same with controls at the ends of their ranges, random signs in
/// one channel, DC and then silence in the other
static inline void
promise_finite_held(const stage_ops* ops, uint32_t n_channels)
{
  static const double rates_hz[] = {8000, 44100, 384000};
  static float        x[2][PROMISE_FRAMES];
  uint32_t            seed = 3;
  for (int i = 0; i < 3; ++i) {
    rig r = rig_open(ops, rates_hz[i], n_channels, NULL);
    for (uint32_t turn = 0; turn < 16; ++turn) {
      promise_extremes(&r, turn, &seed);
      stage_set(&r.st, r.values);
      for (uint32_t k = 0; k < PROMISE_FRAMES; ++k) {
        x[0][k] = copysignf(STAGE_INPUT_LIMIT, check_noise(&seed));
        x[1][k] = k < PROMISE_FRAMES / 2 ? STAGE_INPUT_LIMIT : 0.0F;
      }
      float* const bus[] = {x[0], x[1]};
      stage_process(&r.st, (const float* const*)bus, bus, n_channels,
                    PROMISE_FRAMES);
      for (uint32_t k = 0; k < PROMISE_FRAMES; ++k) {
        assert_true(isfinite(x[0][k]) && isfinite(x[1][k]));
      }
    }
    rig_close(&r);
  }
}

/// Holds that a send with wet off and dry on passes its input, bit for bit
static inline void
promise_dry_passes_exactly(const stage_ops* ops)
{
  rig r = rig_open(ops, 48000.0, 2, NULL);
  rig_set(&r, "dry", 1.0);
  rig_set(&r, "wet_db", -60.0);
  static float want[2][PROMISE_FRAMES], got[2][PROMISE_FRAMES];
  promise_bursts(want[0], PROMISE_FRAMES, 4);
  promise_bursts(want[1], PROMISE_FRAMES, 5);
  memcpy(got, want, sizeof(got));
  rig_play(&r, got[0], got[1], PROMISE_FRAMES);
  for (uint32_t k = 0; k < 2; ++k) {
    for (uint32_t i = 0; i < PROMISE_FRAMES; ++i) {
      assert_true(got[k][i] == want[k][i]);
    }
  }
  rig_close(&r);
}

/// Jumps one control from `from` to `to`; fails above CLICK_LIMIT_DB
static inline double
promise_jump(const rig* r, uint32_t i, float from, float to)
{
  float before[RIG_MAX_PARAMS];
  float after[RIG_MAX_PARAMS];
  memcpy(before, r->values, sizeof(before));
  memcpy(after, r->values, sizeof(after));
  before[i]       = from;
  after[i]        = to;
  const double db = click_of_jump(r->st.ops, 48000.0, before, after).jump_db;
  if (db > CLICK_LIMIT_DB) {
    fail_msg("%s from %g to %g leaves %.1f dBFS", r->st.ops->params[i].symbol,
             (double)from, (double)to, db);
  }
  return db;
}

/// Jumps every control from its value in `r` to both ends (all choices of a
/// selection) and back, as in click.h
static inline void
promise_no_click(const rig* r)
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

#endif // TESTS_SUPPORT_PROMISES_H
