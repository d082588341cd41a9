// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "breakup_follower.h"

#include "common/core/fastmath.h"

#include <string.h>

#define WINDOW_S 0.010

// Level in log2 of the mean square: 10 log10(s) = DB_PER_OCTAVE / 2 * log2(s)
#define SQUARE_DB_PER_OCTAVE (0.5F * DB_PER_OCTAVE)

// Mean squares below this, -120 dBFS, count as silence
#define SILENCE       1e-12F
#define SILENCE_LEVEL (-39.863137F) // log2 of it

void
breakup_follower_set(breakup_follower* f,
                     double            attack_ms,
                     double            release_ms,
                     double            rate_hz)
{
  f->window  = one_pole_average(WINDOW_S, rate_hz);
  f->attack  = one_pole_share(0.001 * attack_ms, rate_hz);
  f->release = one_pole_share(0.001 * release_ms, rate_hz);
}

void
breakup_follower_reset(breakup_follower* f)
{
  memset(f->square, 0, sizeof(f->square));
  f->level = (double)SILENCE_LEVEL;
}

static inline float
hardness_at(float level)
{
  const float lo    = (float)BREAKUP_SOFT_DBFS / SQUARE_DB_PER_OCTAVE;
  const float hi    = (float)BREAKUP_HARD_DBFS / SQUARE_DB_PER_OCTAVE;
  const float scale = 1.0F / (hi - lo);
  const float u     = clampf((level - lo) * scale, 0.0F, 1.0F);
  return smoothstepf(u);
}

float
breakup_how_hard(double level_dbfs)
{
  return hardness_at((float)level_dbfs / SQUARE_DB_PER_OCTAVE);
}

/// Computes the mean squares of one channel
static void
follow_square(const one_pole*  window,
              one_pole_memory* square,
              const float*     in,
              float*           out,
              uint32_t         n)
{
  for (uint32_t i = 0; i < n; ++i) {
    out[i] = in[i] * in[i];
  }
  one_pole_run(window, square, out, out, n);
}

/// Smooths levels, in place.  They rise with one share and fall with the other:
/// both steps are made, and the higher (lower) one is the right one if the
/// attack is the faster (slower) of the two.
static inline __attribute__((always_inline)) double
follow_level(double   up,
             double   down,
             bool     higher,
             double   y,
             float*   level,
             uint32_t n)
{
  const double keep_up   = 1.0 - up;
  const double keep_down = 1.0 - down;
  for (uint32_t i = 0; i < n; ++i) {
    const double x       = (double)level[i];
    const double rising  = keep_up * y + up * x;
    const double falling = keep_down * y + down * x;
    const double more    = rising > falling ? rising : falling;
    const double less    = rising > falling ? falling : rising;
    y                    = higher ? more : less;
    level[i]             = (float)y;
  }
  return y;
}

WIDE_CLONES static void
levels_of_squares(float* x, uint32_t n)
{
  for (uint32_t i = 0; i < n; ++i) {
    x[i] = fast_log2(x[i] + SILENCE);
  }
}

void
breakup_follower_process(breakup_follower*   f,
                         const float* const* in,
                         float*              how_hard,
                         uint32_t            n_channels,
                         uint32_t            n)
{
  follow_square(&f->window, &f->square[0], in[0], how_hard, n);
  if (n_channels == 2) {
    float other[CONTROL_FRAMES];
    follow_square(&f->window, &f->square[1], in[1], other, n);
    for (uint32_t i = 0; i < n; ++i) {
      how_hard[i] = other[i] > how_hard[i] ? other[i] : how_hard[i];
    }
  }
  levels_of_squares(how_hard, n);
  const double up   = f->attack;
  const double down = f->release;
  if (up >= down) {
    f->level = follow_level(up, down, true, f->level, how_hard, n);
  } else {
    f->level = follow_level(up, down, false, f->level, how_hard, n);
  }
  for (uint32_t i = 0; i < n; ++i) {
    how_hard[i] = hardness_at(how_hard[i]);
  }
}
