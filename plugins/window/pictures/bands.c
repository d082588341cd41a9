// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "bands.h"

#include "probe.h"

#include "common/filters/eq.h"

#include <math.h>

enum { N_SECTIONS = 4 };

#define FIT_FROM_DB  (-5.0F)
#define FIT_TO_DB    (-25.0F)
#define LEAST_ENERGY 1e-30

typedef struct {
  biquad section[N_SECTIONS];
  double past[N_SECTIONS][2]; ///< Transposed second form
} band_filter;

/// Fourth-order Butterworth slopes at both edges of a third-octave
static band_filter
filter_of(double hz)
{
  const double edge = exp2(1.0 / 6.0);
  band_filter  f    = {0};
  for (uint32_t i = 0; i < 2; ++i) {
    const double q   = eq_butterworth_q(4, i);
    f.section[i]     = eq_high_pass(hz / edge, q, PROBE_RATE_HZ);
    f.section[2 + i] = eq_low_pass(hz * edge, q, PROBE_RATE_HZ);
  }
  return f;
}

static inline double
filter_next(band_filter* f, double x)
{
  for (uint32_t i = 0; i < N_SECTIONS; ++i) {
    const biquad* const q = &f->section[i];
    const double        y = q->b0 * x + f->past[i][0];
    f->past[i][0]         = q->b1 * x - q->a1 * y + f->past[i][1];
    f->past[i][1]         = q->b2 * x - q->a2 * y;
    x                     = y;
  }
  return x;
}

/// Returns where the middle of the energy of a filter's own answer is
static uint32_t
filter_delay(double hz)
{
  band_filter    f       = filter_of(hz);
  const uint32_t n       = (uint32_t)(40.0 * PROBE_RATE_HZ / hz);
  double         energy  = 0.0;
  double         moments = 0.0;
  for (uint32_t i = 0; i < n; ++i) {
    const double y = filter_next(&f, i ? 0.0 : 1.0);
    energy += y * y;
    moments += i * y * y;
  }
  return (uint32_t)lround(moments / energy);
}

/// Least squares from -5 to -25 dB
static float
fit_decay(const band_fall* f)
{
  double   sum_t = 0, sum_y = 0, sum_tt = 0, sum_ty = 0;
  uint32_t count = 0;
  for (uint32_t i = 0; i < f->n; ++i) {
    const float down = f->db[i] - f->db[0];
    if (down <= FIT_FROM_DB && down >= FIT_TO_DB) {
      const double t = i * (double)BAND_HOP / PROBE_RATE_HZ;
      sum_t += t;
      sum_y += (double)down;
      sum_tt += t * t;
      sum_ty += t * (double)down;
      ++count;
    }
  }
  const double spread = count * sum_tt - sum_t * sum_t;
  const double slope =
    count > 2 ? (count * sum_ty - sum_t * sum_y) / spread : 0.0;
  return slope < 0.0 ? (float)(-60.0 / slope) : NAN;
}

void
band_measure(const float* x, uint32_t n, double hz, band_fall* f)
{
  const double   width_hz = hz * (exp2(1.0 / 6.0) - exp2(-1.0 / 6.0));
  const uint32_t delay    = filter_delay(hz);
  band_filter    filter   = filter_of(hz);
  double         energy   = 0.0;
  f->n                    = (n - 1) / BAND_HOP + 1;
  f->n                    = f->n < BAND_MOST_HOPS ? f->n : BAND_MOST_HOPS;
  for (uint32_t r = 0; r < n + delay; ++r) {
    const double y = filter_next(&filter, r < n ? (double)x[n - 1 - r] : 0.0);
    energy += y * y;
    const uint32_t at = n - 1 + delay - r; // Frame that this is the sum from
    if (at % BAND_HOP == 0 && at / BAND_HOP < f->n) {
      f->db[at / BAND_HOP] =
        (float)(10.0 * log10(fmax(energy, LEAST_ENERGY) / width_hz));
    }
  }
  f->decay_s = fit_decay(f);
}

float
band_time_of(const band_fall* f, float db)
{
  if (!isfinite(f->decay_s)) {
    return NAN;
  }
  if (f->db[0] <= db) {
    return 0.0F;
  }
  // A quarter of the decay before the cut the sum lacks 3 %
  const float    hop_s = (float)(BAND_HOP / PROBE_RATE_HZ);
  const float    last  = (float)f->n - 1.0F - 0.25F * f->decay_s / hop_s;
  const uint32_t end   = last > 0.0F ? (uint32_t)last : 0U;
  for (uint32_t i = 1; i <= end; ++i) {
    if (f->db[i] <= db) {
      const float u = (f->db[i - 1] - db) / (f->db[i - 1] - f->db[i]);
      return ((float)(i - 1) + u) * hop_s;
    }
  }
  return (float)end * hop_s + (f->db[end] - db) * f->decay_s / 60.0F;
}
