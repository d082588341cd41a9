// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// A plate to knock on

#ifndef TESTS_STAGES_PLATE_RIG_H
#define TESTS_STAGES_PLATE_RIG_H

#include "tests/support/decay.h"
#include "tests/support/promises.h"

#include "common/stages/plate_send.h"

#define RATE_HZ 48000.0

enum { N = 144000, N_OCTAVES = 7 };

static const double octaves_hz[N_OCTAVES] = {125,  250,  500, 1000,
                                             2000, 4000, 8000};

/// Response by output
static float response[2][N];

/// Records the response of both outputs to an impulse of `left` and `right`
static inline void
respond(rig* r, double left, double right)
{
  memset(response, 0, sizeof(response));
  response[0][0] = (float)left;
  response[1][0] = (float)right;
  stage_reset(&r->st);
  rig_play(r, response[0], response[1], N);
}

/// The reference: times of 3, 2 and 1 s at 100 Hz, 1 kHz and 10 kHz, the
/// filters wide open, no pre-delay
static inline rig
open_plate(double rate_hz)
{
  rig r = rig_open(&plate_send_ops, rate_hz, 2, NULL);
  rig_set(&r, "decay_s", 2.0);
  rig_set(&r, "low_decay_pc", 150.0);
  rig_set(&r, "high_decay_pc", 50.0);
  rig_set(&r, "low_cut_hz", 20.0);
  rig_set(&r, "high_cut_hz", 10000.0);
  rig_set(&r, "treble_db", 0.0);
  rig_set(&r, "predelay_ms", 0.0);
  return r;
}

static inline double
energy_of(const double* x, uint32_t from, uint32_t to)
{
  double sum = 0.0;
  for (uint32_t i = from; i < to; ++i) {
    sum += x[i] * x[i];
  }
  return sum;
}

static inline double
energy_db(const float* x, uint32_t from, uint32_t to)
{
  double sum = 1e-30;
  for (uint32_t i = from; i < to; ++i) {
    sum += (double)x[i] * (double)x[i];
  }
  return 10.0 * log10(sum);
}

/// Adds the energy of each frame of one octave of both outputs
static inline void
add_octave(double* energy, double f_hz, double rate_hz)
{
  static double x[N];
  for (uint32_t k = 0; k < 2; ++k) {
    octave(response[k], x, N, f_hz, rate_hz);
    for (uint32_t i = 0; i < N; ++i) {
      energy[i] += x[i] * x[i];
    }
  }
}

/// Returns T30 of one octave of both outputs together
static inline double
octave_time_s(double f_hz, double rate_hz)
{
  static double energy[N];
  memset(energy, 0, sizeof(energy));
  add_octave(energy, f_hz, rate_hz);
  return straight_decay_s(energy, N, 1.0 / rate_hz);
}

#endif // TESTS_STAGES_PLATE_RIG_H
