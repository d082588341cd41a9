// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "sinc_read.h"

#include <pthread.h>

#define KAISER_BETA 8.0

static sinc_row       table[SINC_PHASES];
static pthread_once_t table_once = PTHREAD_ONCE_INIT;

/// Modified Bessel function of order 0, by its series
static double
bessel_i0(double x)
{
  double sum  = 1.0;
  double term = 1.0;
  for (int k = 1; term > 1e-17 * sum; ++k) {
    term *= 0.25 * x * x / (k * k);
    sum += term;
  }
  return sum;
}

/// Kaiser-windowed sinc at `t` samples from its middle
static double
kernel(double t)
{
  const double x = t / (0.5 * SINC_TAPS);
  if (fabs(x) >= 1.0) {
    return 0.0;
  }
  const double w  = bessel_i0(KAISER_BETA * sqrt(1.0 - x * x));
  const double pt = DSP_PI * t;
  return w * (fabs(t) < 1e-9 ? 1.0 : steady_sin(pt) / pt);
}

/// Writes the weights for a position; their sum is 1
static void
weights_at(double share, double* h)
{
  double sum = 0.0;
  for (int k = 0; k < SINC_TAPS; ++k) {
    h[k] = kernel(k - SINC_BEFORE - share);
    sum += h[k];
  }
  for (int k = 0; k < SINC_TAPS; ++k) {
    h[k] /= sum;
  }
}

static void
build(void)
{
  double h[2][SINC_TAPS];
  weights_at(0.0, h[0]);
  for (uint32_t row = 0; row < SINC_PHASES; ++row) {
    weights_at((row + 1.0) / SINC_PHASES, h[1]);
    for (uint32_t k = 0; k < SINC_TAPS; ++k) {
      table[row].at.lane[k / 4][k % 4]   = (float)h[0][k];
      table[row].step.lane[k / 4][k % 4] = (float)(h[1][k] - h[0][k]);
      h[0][k]                            = h[1][k];
    }
  }
}

const sinc_row*
sinc_table(void)
{
  (void)pthread_once(&table_once, build);
  return table;
}
