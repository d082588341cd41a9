// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "level.h"

#include "common/core/lanes.h"

#include <string.h>

void
level_init(level* l, double rate_hz)
{
  const double lines_per_s = rate_hz / CONTROL_FRAMES;
  const double bin_lines   = round(LEVEL_BIN_S * lines_per_s);

  l->bin_lines = bin_lines < 1.0 ? 1 : (uint32_t)bin_lines;
  l->n_bins    = (uint32_t)lround(LEVEL_WINDOW_S * lines_per_s / l->bin_lines);
  level_reset(l);
}

void
level_reset(level* l)
{
  // One line before the first, so that the first level_control() begins bin 0
  l->lines  = l->bin_lines - 1;
  l->bin    = l->n_bins - 1;
  l->added  = 0;
  l->others = 0.0;
  memset(l->sum, 0, sizeof(l->sum));
}

bool
level_control(level* l)
{
  if (++l->lines < l->bin_lines) {
    return false;
  }
  const bool full = l->added > 0; // Not before the first frame
  l->closed       = l->sum[l->bin];
  l->lines        = 0;
  l->added        = 0;
  l->bin          = (l->bin + 1) % l->n_bins;
  l->sum[l->bin]  = 0.0;
  l->others       = 0.0; // Summed anew, so that it cannot drift
  for (uint32_t i = 0; i < l->n_bins; ++i) {
    l->others += l->sum[i];
  }
  return full;
}

double
level_bin_samples(const level* l, uint32_t n_channels)
{
  return (double)CONTROL_FRAMES * l->bin_lines * n_channels;
}

/// Sums of squares of single lanes, of every fourth four frames each: no
/// addition waits for the one before
#define PARTS 4U

void
level_add(level* l, const float* x, uint32_t n)
{
  f32x4    part[PARTS] = {{0.0F, 0.0F, 0.0F, 0.0F}};
  uint32_t i           = 0;
  for (; i + 4U * PARTS <= n; i += 4U * PARTS) {
    for (size_t k = 0; k < PARTS; ++k) {
      const f32x4 v = f32x4_load(x + i + 4U * k);
      part[k] += v * v;
    }
  }
  for (; i < n; ++i) {
    part[0][0] += x[i] * x[i];
  }
  l->added += n;
  l->sum[l->bin] +=
    (double)f32x4_sum((part[0] + part[1]) + (part[2] + part[3]));
}

double
level_db(const level* l, uint32_t n_channels)
{
  const double samples =
    level_bin_samples(l, n_channels) * (l->n_bins - 1) + l->added;
  const double power = (l->others + l->sum[l->bin]) / samples;
  return power > 1e-12 ? 0.5 * gain_to_db(power) : LEVEL_FLOOR_DBFS;
}
