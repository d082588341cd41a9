// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "ears_low.h"

#include "ears_bands.h"
#include "ears_level.h"
#include "ears_sound.h"
#include "presets-demo/render/program/alloc.h"

#include <math.h>
#include <stdlib.h>

#define WINDOW_FRAMES ((size_t)(0.4 * EARS_RATE_HZ))
#define PLAYING_DB    20.0
#define SHARE         0.25
#define LEAST_DB      (-20.0)

static void
add_window(const float* x, double* power, ears_bands* b)
{
  ears_spectrum(x, WINDOW_FRAMES, power);
  ears_thirds_add(power, WINDOW_FRAMES, b->third);
}

/// Share of bass in each window of the playing, -INFINITY in pauses; how many
/// play
static size_t
shares_of(const float* in, size_t count, double* power, double* shares)
{
  double most = -(double)INFINITY;
  size_t n    = 0;
  for (size_t i = 0; i < count; ++i) {
    most = fmax(most, ears_rms_db(in + i * WINDOW_FRAMES, WINDOW_FRAMES));
  }
  for (size_t i = 0; i < count; ++i) {
    const float* const x = in + i * WINDOW_FRAMES;
    ears_bands         b = {.all = 0.0};
    shares[i]            = -(double)INFINITY;
    if (ears_rms_db(x, WINDOW_FRAMES) > most - PLAYING_DB) {
      add_window(x, power, &b);
      shares[i] = ears_low_share_db(&b);
      ++n;
    }
  }
  return n;
}

double
ears_low_rise_db(const float* in, const float* out, size_t n)
{
  const size_t count  = n / WINDOW_FRAMES;
  double*      power  = alloc_new(WINDOW_FRAMES / 2 + 1, sizeof(*power));
  double*      shares = alloc_new(2 * count + 1, sizeof(*shares));
  double*      sorted = shares + count;
  const size_t n_play = shares_of(in, count, power, shares);
  for (size_t i = 0; i < count; ++i) {
    sorted[i] = shares[i];
  }
  const double of_all = SHARE * (double)n_play / (double)(count ? count : 1);
  const double least  = ears_percentile(sorted, count, 1.0 - of_all);
  ears_bands   dry    = {.all = 0.0};
  ears_bands   wet    = {.all = 0.0};
  for (size_t i = 0; i < count; ++i) {
    if (isfinite(shares[i]) && shares[i] >= least) {
      add_window(in + i * WINDOW_FRAMES, power, &dry);
      add_window(out + i * WINDOW_FRAMES, power, &wet);
    }
  }
  free(shares);
  free(power);
  const double dry_db = ears_low_share_db(&dry);
  return dry_db > LEAST_DB ? ears_low_share_db(&wet) - dry_db : (double)NAN;
}
