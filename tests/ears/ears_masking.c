// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "ears_masking.h"

#include "ears_level.h"
#include "ears_sound.h"
#include "presets-demo/render/audio/level_meter.h"
#include "presets-demo/render/program/alloc.h"

#include <math.h>
#include <stdlib.h>

#define FRAME_FRAMES ((size_t)(0.050 * EARS_RATE_HZ))
#define HARD_SHARE   0.1

void
ears_hard_strokes(const float* x, const float* loud, size_t n, double* third)
{
  const size_t size   = FRAME_FRAMES;
  const size_t count  = n / size;
  double*      levels = alloc_new(count ? count : 1, sizeof(*levels));
  double*      power  = alloc_new(size / 2 + 1, sizeof(*power));
  for (size_t i = 0; i < count; ++i) {
    levels[i] = ears_rms_db(loud + i * size, size);
  }
  const double least = ears_percentile(levels, count, 1.0 - HARD_SHARE);
  for (size_t k = 0; k < EARS_N_THIRDS; ++k) {
    third[k] = 0.0;
  }
  for (size_t i = 0; i < count; ++i) {
    if (ears_rms_db(loud + i * size, size) >= least) {
      ears_spectrum(x + i * size, size, power);
      ears_thirds_add(power, size, third);
    }
  }
  free(power);
  free(levels);
}

double
ears_spl_db(const double* third)
{
  double all = 0.0;
  for (size_t k = 0; k < EARS_N_THIRDS; ++k) {
    all += third[k];
  }
  return EARS_HARD_DB_SPL - level_power_db(all);
}

static double
bark_of(double hz)
{
  const double khz = hz / 1000.0;
  const double x   = khz / 7.5;
  return 13.0 * atan(0.76 * khz) + 3.5 * atan(x * x);
}

static double
quiet_db(double hz)
{
  const double khz = hz / 1000.0;
  const double ear = khz - 3.3;
  return 3.64 * pow(khz, -0.8) - 6.5 * exp(-0.6 * ear * ear) +
         0.001 * pow(khz, 4.0);
}

/// Threshold at `z` Bark due to a masker at `hz`
static double
masked_db(double level_db, double hz, double z)
{
  const double from = bark_of(hz);
  const double up   = 24.0 + 230.0 / hz - 0.2 * level_db;
  const double fall = z > from ? up * (z - from) : 27.0 * (from - z);
  return level_db - fall - (2.025 + 0.175 * from);
}

double
ears_heard_db(const double* third, double spl_db, size_t which)
{
  const double hz  = ears_third_hz(which);
  double       sum = pow(10.0, 0.1 * quiet_db(hz));
  for (size_t k = 0; k < EARS_N_THIRDS; ++k) {
    const double level_db = level_power_db(third[k]) + spl_db;
    if (k != which && isfinite(level_db)) {
      sum +=
        pow(10.0, 0.1 * masked_db(level_db, ears_third_hz(k), bark_of(hz)));
    }
  }
  return level_power_db(third[which]) + spl_db - level_power_db(sum);
}
