// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Modes to ring, and how they should sound: each is a decaying cosine, and its
/// response to a signal is the sum over the signal's frames.  The reference is
/// a rotation in double, frame by frame.

#ifndef TESTS_PLATE_PLATE_MODES_RIG_H
#define TESTS_PLATE_PLATE_MODES_RIG_H

#include "tests/support/click.h"

#include "common/plate/plate_modes.h"

#include <complex.h>
#include <string.h>

#define RATE_HZ 48000.0
#define J       ((double complex)I)
enum { N = 96000, N_MODES = 300 };

static plate_modes bank;
static float       in[2][N], out[2][N];
static double      want[2][N];

static plate_mode modes[N_MODES];
static uint32_t   n_modes;

static inline void
list_modes(double limit_hz, plate_mode_visit visit, void* to)
{
  for (uint32_t i = 0; i < n_modes; ++i) {
    if (modes[i].f_hz < limit_hz) {
      visit(to, &modes[i]);
    }
  }
}

/// Modes everywhere, some close together, some at the edges of the grid
static inline void
random_modes(void)
{
  uint32_t seed = 3;
  n_modes       = N_MODES;
  for (uint32_t i = 0; i < N_MODES; ++i) {
    const double u = 0.5 + 0.5 * (double)check_noise(&seed);
    modes[i]       = (plate_mode){
            .f_hz  = 20.0 * pow(1000.0, u),
            .input = i % 2,
            .gain  = {(double)check_noise(&seed), (double)check_noise(&seed)},
    };
  }
  for (uint32_t i = 0; i < 20; ++i) {
    modes[i].f_hz =
      (i + 1.5) * RATE_HZ / PLATE_GRID_SIZE * (1.0 + (i % 3 - 1) * 1e-9);
  }
}

static inline void
run(float* const* to, uint32_t from, uint32_t n)
{
  for (uint32_t i = from; i < from + n; i += CONTROL_FRAMES) {
    const float* ins[]  = {in[0] + i, in[1] + i};
    float*       outs[] = {to[0] + i, to[1] + i};
    plate_modes_control(&bank, false);
    plate_modes_process(&bank, ins, outs, CONTROL_FRAMES);
  }
}

static float* const outs[2] = {out[0], out[1]};

static inline void
start(plate_decay decay)
{
  memset(&bank, 0, sizeof(bank));
  assert_true(plate_modes_init(&bank, RATE_HZ, list_modes));
  plate_modes_set_decay(&bank, &decay);
  plate_modes_reset(&bank);
  memset(in, 0, sizeof(in));
}

/// Computes all modes frame by frame; the onset counts half, so has no DC
static inline void
judge(double time_s)
{
  memset(want, 0, sizeof(want));
  for (uint32_t m = 0; m < n_modes; ++m) {
    const double complex turn = cexp(
      (-log(1000.0) / time_s + 2.0 * DSP_PI * modes[m].f_hz * J) / RATE_HZ);
    double complex z = 0.0;
    for (uint32_t i = 0; i < N; ++i) {
      const double x = (double)in[modes[m].input][i];
      z              = z * turn + x;
      for (uint32_t k = 0; k < 2; ++k) {
        want[k][i] += modes[m].gain[k] * (creal(z) - 0.5 * x);
      }
    }
  }
}

/// Error over the frames from `from` to `to`, in dB re the signal wanted there
static inline double
error_db(uint32_t from, uint32_t to)
{
  double error = 0.0;
  double power = 0.0;
  for (uint32_t k = 0; k < 2; ++k) {
    for (uint32_t i = from; i < to; ++i) {
      const double e = (double)out[k][i] - want[k][i];
      error += e * e;
      power += want[k][i] * want[k][i];
    }
  }
  return 10.0 * log10(error / power);
}

#endif // TESTS_PLATE_PLATE_MODES_RIG_H
