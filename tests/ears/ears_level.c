// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "ears_level.h"

#include "ears_sound.h"
#include "presets-demo/render/audio/level_meter.h"
#include "presets-demo/render/program/alloc.h"

#include <math.h>
#include <stdlib.h>

double
ears_gated_db(const float* x, size_t n)
{
  level_meter m;
  level_meter_init(&m, EARS_RATE_HZ);
  (void)level_meter_add(&m, &x, 1, (uint32_t)n);
  const double db = level_meter_gated_db(&m);
  level_meter_clear(&m);
  return db;
}

double
ears_rms_db(const float* x, size_t n)
{
  double sum = 0.0;
  for (size_t i = 0; i < n; ++i) {
    sum += (double)x[i] * (double)x[i];
  }
  return level_power_db(n ? sum / (double)n : 0.0);
}

double
ears_peak_db(const float* x, size_t n)
{
  float peak = 0.0F;
  for (size_t i = 0; i < n; ++i) {
    peak = fmaxf(peak, fabsf(x[i]));
  }
  return level_power_db((double)peak * (double)peak);
}

double
ears_crest_db(const float* x, size_t n)
{
  return ears_peak_db(x, n) - ears_gated_db(x, n);
}

static int
by_value(const void* a, const void* b)
{
  const double x = *(const double*)a;
  const double y = *(const double*)b;
  return (x > y) - (x < y);
}

double
ears_percentile(double* values, size_t n, double share)
{
  if (!n) {
    return (double)NAN;
  }
  qsort(values, n, sizeof(*values), by_value);
  const double at = share * (double)(n - 1);
  const size_t i  = (size_t)at;
  const double up = i + 1 < n ? values[i + 1] : values[i];
  return values[i] + (at - (double)i) * (up - values[i]);
}

double
ears_spread_db(const float* x, size_t n)
{
  const size_t hop    = (size_t)(0.1 * EARS_RATE_HZ);
  double*      levels = alloc_new(n / hop + 1, sizeof(*levels));
  size_t       count  = 0;
  double       most   = -(double)INFINITY;
  for (size_t at = 0; at + 4 * hop <= n; at += hop) {
    levels[count] = ears_rms_db(x + at, 4 * hop);
    most          = fmax(most, levels[count++]);
  }
  size_t kept = 0;
  for (size_t i = 0; i < count; ++i) {
    if (levels[i] > most - 30.0) {
      levels[kept++] = levels[i];
    }
  }
  const double low    = ears_percentile(levels, kept, 0.1);
  const double spread = ears_percentile(levels, kept, 0.9) - low;
  free(levels);
  return spread;
}
