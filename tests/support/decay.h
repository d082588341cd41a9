// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Reverberation time of a response, in octaves

#ifndef TESTS_SUPPORT_DECAY_H
#define TESTS_SUPPORT_DECAY_H

#include "check.h"

/// Turns the energy of each frame into the sum of all from it on, in place (M.
/// R. Schroeder, J. Acoust. Soc. Am. 37 (1965) 409)
static inline void
integrate_backwards(double* energy, uint32_t n)
{
  for (uint32_t t = n - 1; t-- > 0;) {
    energy[t] += energy[t + 1];
  }
}

typedef struct {
  double time_s;      ///< To -60 dB
  double correlation; ///< Squared, of level and time
} decay_fit;

/// Fits the slope of the integrated level between `from_db` and `to_db`, by
/// least squares
static inline decay_fit
decay_fit_of(const double* energy,
             uint32_t      n,
             double        frame_s,
             double        from_db,
             double        to_db)
{
  double m = 0, sx = 0, sy = 0, sxx = 0, sxy = 0, syy = 0;
  for (uint32_t t = 0; t < n; ++t) {
    const double y = 10.0 * log10(energy[t] / energy[0] + 1e-30);
    if (y <= from_db && y >= to_db) {
      const double x = t * frame_s;
      m += 1.0;
      sx += x;
      sy += y;
      sxx += x * x;
      sxy += x * y;
      syy += y * y;
    }
  }
  const double xx = m * sxx - sx * sx;
  const double xy = m * sxy - sx * sy;
  return (decay_fit){-60.0 * xx / xy, xy * xy / (xx * (m * syy - sy * sy))};
}

/// T30 is -5 to -35 dB, EDT 0 to -10 dB (ISO 3382-1).  `energy` is that of each
/// frame; it is integrated in place.
static inline double
decay_time_s(double*  energy,
             uint32_t n,
             double   frame_s,
             double   from_db,
             double   to_db)
{
  integrate_backwards(energy, n);
  return decay_fit_of(energy, n, frame_s, from_db, to_db).time_s;
}

/// T30 of a decay that is straight: a correlation of 0.99 (10 per mille of
/// non-linearity) and a curvature 100 (T30 / T20 - 1) of up to 10 % (ISO
/// 3382-2, annex B)
static inline double
straight_decay_s(double* energy, uint32_t n, double frame_s)
{
  integrate_backwards(energy, n);
  const decay_fit t20 = decay_fit_of(energy, n, frame_s, -5.0, -25.0);
  const decay_fit t30 = decay_fit_of(energy, n, frame_s, -5.0, -35.0);
  assert_true(t30.correlation > 0.99);
  assert_near(100.0 * (t30.time_s / t20.time_s - 1.0), 0.0, 10.0);
  return t30.time_s;
}

/// Octave of IEC 61260-1: Butterworth band-pass of order 8, as two sections of
/// low-pass and two of high-pass at the edges
static inline void
octave(const float* x, double* y, uint32_t n, double f_hz, double rate_hz)
{
  const double edge[2] = {f_hz * pow(10.0, 0.15), f_hz * pow(10.0, -0.15)};
  for (uint32_t i = 0; i < n; ++i) {
    y[i] = (double)x[i];
  }
  for (uint32_t j = 0; j < 4; ++j) {
    const bool   high = j >= 2;
    const double g    = tan(DSP_PI * edge[high] / rate_hz);
    const double k    = j % 2 ? 0.7653668647 : 1.8477590650; // 1/Q of order 4
    double       i1   = 0.0;
    double       i2   = 0.0;
    for (uint32_t i = 0; i < n; ++i) {
      const double hp = (y[i] - (k + g) * i1 - i2) / (1.0 + g * (g + k));
      const double bp = g * hp + i1;
      const double lp = g * bp + i2;
      i1              = g * hp + bp;
      i2              = g * bp + lp;
      y[i]            = high ? hp : lp;
    }
  }
}

#endif // TESTS_SUPPORT_DECAY_H
