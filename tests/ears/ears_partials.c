// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "ears_partials.h"

#include "common/core/dsp.h"
#include "ears_bands.h"
#include "ears_sound.h"
#include "presets-demo/render/audio/level_meter.h"
#include "presets-demo/render/program/alloc.h"

#include <math.h>
#include <stdlib.h>

#define SPECTRUM_FRAMES 65536U // 1.37 s: 0.73 Hz a bin
#define HIGHEST_HZ      9000.0
#define FIT_PARTIALS    20.0
#define WINDOW_S        0.100
#define HOP_S           0.025
#define FROM_S          0.150
#define MAX_POINTS      120U // 3 s
#define MIN_POINTS      16U
#define FALL_DB         40.0
#define FLOOR_DB        (-105.0) ///< The interface's noise in such a window

/// The highest bin around `hz`, between the bins by a parabola through the
/// logarithms; NAN if it is no peak
static double
peak_hz(const double* power, double hz, double reach_hz)
{
  const double bin_hz = EARS_RATE_HZ / SPECTRUM_FRAMES;
  const size_t from   = (size_t)((hz - reach_hz) / bin_hz) + 1;
  const size_t to     = (size_t)((hz + reach_hz) / bin_hz);
  size_t       best   = from;
  for (size_t i = from; i <= to; ++i) {
    best = power[i] > power[best] ? i : best;
  }
  if (best == from || best == to) {
    return (double)NAN;
  }
  const double a = log(power[best - 1] + 1e-300);
  const double b = log(power[best] + 1e-300);
  const double c = log(power[best + 1] + 1e-300);
  return bin_hz * ((double)best + 0.5 * (a - c) / (a - 2.0 * b + c));
}

/// Level at `hz` in a Hann window from frame `at` on
static double
level_at_db(const float* x, size_t at, size_t size, double hz)
{
  double re = 0.0;
  double im = 0.0;
  for (size_t i = 0; i < size; ++i) {
    const double t    = (double)i / (double)size;
    const double y    = (double)x[at + i] * (1.0 - cos(2.0 * DSP_PI * t));
    const double turn = 2.0 * DSP_PI * hz * (double)i / EARS_RATE_HZ;
    re += y * cos(turn);
    im += y * sin(turn);
  }
  return level_power_db(2.0 * (re * re + im * im) /
                        ((double)size * (double)size));
}

/// A straight line through points HOP_S apart: its slope, and the RMS around it
static double
line_db_s(const double* db, size_t n, double* around)
{
  double mean = 0.0;
  for (size_t i = 0; i < n; ++i) {
    mean += db[i] / (double)n;
  }
  double ty = 0.0;
  double tt = 0.0;
  for (size_t i = 0; i < n; ++i) {
    const double t = HOP_S * ((double)i - 0.5 * (double)(n - 1));
    ty += t * (db[i] - mean);
    tt += t * t;
  }
  double sum = 0.0;
  for (size_t i = 0; i < n; ++i) {
    const double t   = HOP_S * ((double)i - 0.5 * (double)(n - 1));
    const double off = db[i] - mean - ty / tt * t;
    sum += off * off;
  }
  *around = sqrt(sum / (double)n);
  return ty / tt;
}

/// Follow a partial; false if there is too little of it
static bool
follow(const float* x, size_t n, double hz, ears_partial* p)
{
  const size_t size = (size_t)(WINDOW_S * EARS_RATE_HZ);
  const size_t hop  = (size_t)(HOP_S * EARS_RATE_HZ);
  double       db[MAX_POINTS];
  double       first = 0.0;
  size_t       count = 0;
  size_t       at    = (size_t)(FROM_S * EARS_RATE_HZ);
  for (; count < MAX_POINTS && at + size <= n; at += hop) {
    const double now = level_at_db(x, at, size, hz);
    first            = count ? first : now;
    if (now < FLOOR_DB || now < first - FALL_DB) {
      break;
    }
    db[count++] = now;
  }
  if (count < MIN_POINTS) {
    return false;
  }
  const double slope = line_db_s(db, count, &p->ripple_db);
  p->hz              = hz;
  p->t60_s           = slope < 0.0 ? -60.0 / slope : (double)INFINITY;
  return true;
}

/// B by least squares: y = (f / n)^2 = f0^2 (1 + B n^2)
static double
fit_inharmonicity(const double* hz, const double* number, size_t n)
{
  double mean_x = 0.0;
  double mean_y = 0.0;
  for (size_t i = 0; i < n; ++i) {
    mean_x += number[i] * number[i] / (double)n;
    mean_y += hz[i] * hz[i] / (number[i] * number[i]) / (double)n;
  }
  double xy = 0.0;
  double xx = 0.0;
  for (size_t i = 0; i < n; ++i) {
    const double dx = number[i] * number[i] - mean_x;
    xy += dx * (hz[i] * hz[i] / (number[i] * number[i]) - mean_y);
    xx += dx * dx;
  }
  return n < 6 ? (double)NAN : xy / xx / (mean_y - xy / xx * mean_x);
}

ears_partials
ears_partials_of(const float* x, size_t n, double f1_hz, double guess)
{
  ears_partials p = {.inharmonicity = (double)NAN};
  double        hz[EARS_MAX_PARTIALS];
  double        number[EARS_MAX_PARTIALS];
  size_t        n_fit = 0;
  if (n < SPECTRUM_FRAMES) {
    return p;
  }
  double* const power = alloc_new(SPECTRUM_FRAMES / 2 + 1, sizeof(*power));
  ears_spectrum(x, SPECTRUM_FRAMES, power);
  for (int k = 1; k <= EARS_MAX_PARTIALS; ++k) {
    const double expected = f1_hz * k * sqrt(1.0 + guess * k * k);
    if (expected > HIGHEST_HZ) {
      break;
    }
    const double found = peak_hz(power, expected, 0.25 * f1_hz);
    if (isfinite(found) && follow(x, n, found, &p.partials[p.n])) {
      ++p.n;
      if (k <= FIT_PARTIALS) {
        hz[n_fit]       = found;
        number[n_fit++] = k;
      }
    }
  }
  free(power);
  p.inharmonicity = fit_inharmonicity(hz, number, n_fit);
  return p;
}
