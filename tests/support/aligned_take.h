// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// A take of the demo, mostly the left rhythm, at -18 dBFS RMS (gated), and a
/// judge of its loudness from outside: libebur128 (ITU-R BS.1770)

#ifndef TESTS_SUPPORT_ALIGNED_TAKE_H
#define TESTS_SUPPORT_ALIGNED_TAKE_H

#include "rig.h"

#include "common/level/gated_level.h"
#include "presets-demo/guitar/take.h"

#include <ebur128.h>

static uint32_t n_take;
static float *  take_dry, *take_wet;

static inline void
take_load_of(take which)
{
  n_take       = take_frames();
  int32_t* raw = calloc(n_take, sizeof(int32_t));
  take_dry     = calloc(n_take, sizeof(float));
  take_wet     = calloc(n_take, sizeof(float));
  assert_true(raw && take_dry && take_wet && take_render(which, raw));
  static gated_level level;
  gated_level_reset(&level, -60.0);
  const uint32_t hop = TAKE_RATE_HZ / 10;
  for (uint32_t at = 0; at + hop <= n_take; at += hop) {
    double sum = 0.0;
    for (uint32_t i = 0; i < hop; ++i) {
      const double x = raw[at + i] / 8388608.0;
      sum += x * x;
    }
    (void)gated_level_push(&level, sum / hop);
  }
  const double gain = db_to_gain(-18.0 - gated_level_db(&level));
  for (uint32_t i = 0; i < n_take; ++i) {
    take_dry[i] = (float)(gain * raw[i] / 8388608.0);
  }
  free(raw);
}

static inline int
take_load(void** state)
{
  (void)state;
  take_load_of(TAKE_RHYTHM_LEFT);
  return 0;
}

static inline int
take_unload(void** state)
{
  (void)state;
  free(take_dry);
  free(take_wet);
  return 0;
}

static inline double
take_lufs(const float* x)
{
  double         lufs = 0.0;
  ebur128_state* e    = ebur128_init(1, TAKE_RATE_HZ, EBUR128_MODE_I);
  assert_non_null(e);
  ebur128_set_channel(e, 0, EBUR128_LEFT);
  assert_int_equal(ebur128_add_frames_float(e, x, n_take), EBUR128_SUCCESS);
  assert_int_equal(ebur128_loudness_global(e, &lufs), EBUR128_SUCCESS);
  ebur128_destroy(&e);
  return lufs;
}

/// What compensations of loudness are measured on: the left rhythm and the lead
enum { TAKE_PAIR = 2 };

typedef struct {
  float* dry[TAKE_PAIR];
  double dry_lufs[TAKE_PAIR];
} take_pair;

/// Leaves take_wet for the output
static inline void
take_pair_load(take_pair* p)
{
  static const take takes[TAKE_PAIR] = {TAKE_RHYTHM_LEFT, TAKE_LEAD};
  for (int t = 0; t < TAKE_PAIR; ++t) {
    free(take_wet);
    take_load_of(takes[t]);
    p->dry[t]      = take_dry;
    p->dry_lufs[t] = take_lufs(take_dry);
  }
}

static inline void
take_pair_unload(take_pair* p)
{
  for (int t = 0; t < TAKE_PAIR; ++t) {
    free(p->dry[t]);
  }
  free(take_wet);
}

#endif // TESTS_SUPPORT_ALIGNED_TAKE_H
