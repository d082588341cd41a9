// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Reverberation times of the three rooms from their walls

#ifndef TESTS_SUPPORT_WALLS_H
#define TESTS_SUPPORT_WALLS_H

#include "decay.h"

#include "common/room/room.h"

#include <string.h>

enum { BANDS = 6 };

static const double band_hz[BANDS] = {125, 250, 500, 1000, 2000, 4000};

// Octaves from 125 Hz to 4 kHz.  D. A. Bies, C. H. Hansen, C. Q. Howard,
// "Engineering Noise Control", 5th ed. (2017), table 6.2
static const double alpha[][BANDS] = {
  {0.43, 0.86, 1.00, 1.00, 1.00, 1.00}, // Mineral wool 16 kg/m^3, 100 mm
  {0.17, 0.45, 0.80, 0.89, 0.97, 0.94}, // The same, 50 mm
  {0.03, 0.09, 0.20, 0.54, 0.70, 0.72}, // Carpet 6 mm on underlay
  {0.14, 0.35, 0.55, 0.72, 0.70, 0.65}, // Heavy velour, draped to half area
  {0.15, 0.11, 0.10, 0.07, 0.06, 0.07}, // Wood floor on joists
  {0.35, 0.25, 0.18, 0.12, 0.07, 0.04}, // Ordinary window
  {0.14, 0.10, 0.06, 0.08, 0.10, 0.10}, // Solid timber door
  {0.29, 0.10, 0.05, 0.04, 0.07, 0.09}, // Gypsum board on studs
};
enum { MATERIALS = 8 };

/// Areas in m^2, in the order of room_kind
static const double areas[3][MATERIALS] = {
  {34, 0, 2, 2, 22.1, 2, 2, 39.5},
  {13, 10, 8, 4, 16.1, 2, 2, 48.5},
  {3, 2, 4, 0, 20.1, 2, 2, 70.5},
};

/// Returns Eyring's time: T = 24 ln(10) V / (c S (-ln(1 - mean alpha)))
static inline double
eyring_s(room_kind kind, uint32_t band)
{
  double surface = 0.0;
  double sum     = 0.0;
  for (uint32_t i = 0; i < MATERIALS; ++i) {
    surface += areas[kind][i];
    sum += areas[kind][i] * alpha[i][band];
  }
  return 24.0 * log(10.0) * ROOM_VOLUME_M3 /
         (343.0 * surface * -log(1.0 - sum / surface));
}

/// Interpolates between the octaves by straight lines over the logarithms
static inline double
eyring_at_s(room_kind kind, double f_hz)
{
  const double   at    = clampd(log2(f_hz / band_hz[0]), 0.0, BANDS - 1.0);
  const uint32_t b     = at < BANDS - 2 ? (uint32_t)at : BANDS - 2U;
  const double   below = eyring_s(kind, b);
  return below * pow(eyring_s(kind, b + 1) / below, at - b);
}

/// Returns the T30 of a decay by `t_s` after the octave filter of octave():
/// where it is steep, longer times next to the octave leak in
static inline double
decay_in_octave_s(double (*t_s)(const void* of, double f_hz),
                  const void* of,
                  double      f_hz)
{
  enum { STEPS = 2000 };
  static double energy[STEPS];
  memset(energy, 0, sizeof(energy));
  for (int j = -100; j <= 100; ++j) {
    const double r = pow(2.0, 0.02 * j); // Equal steps of log f: weight f
    const double l = pow(r * pow(10.0, -0.15), 8.0);
    const double h = pow(r * pow(10.0, 0.15), 8.0);
    const double w = r * h / (1.0 + h) / (1.0 + l);
    const double t = t_s(of, f_hz * r);
    for (uint32_t i = 0; i < STEPS; ++i) {
      energy[i] += w * exp(-2.0 * DECAY_NEPERS * i * 1e-3 / t);
    }
  }
  return decay_time_s(energy, STEPS, 1e-3, -5.0, -35.0);
}

static inline double
eyring_of(const void* kind, double f_hz)
{
  return eyring_at_s(*(const room_kind*)kind, f_hz);
}

/// Returns the T30 of a room by Eyring
static inline double
eyring_in_octave_s(room_kind kind, uint32_t band)
{
  return decay_in_octave_s(eyring_of, &kind, band_hz[band]);
}

#endif // TESTS_SUPPORT_WALLS_H
