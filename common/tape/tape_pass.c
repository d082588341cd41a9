// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "tape_pass.h"

double
tape_spacing_loss_db(double f_hz, double spacing_m, double speed_m_s)
{
  return 40.0 * DSP_PI * steady_log10(steady_exp(1.0)) * spacing_m * f_hz /
         speed_m_s;
}

double
tape_gap_loss_db(double f_hz, double gap_m, double speed_m_s)
{
  const double x = 1.11 * DSP_PI * gap_m * f_hz / speed_m_s;
  return x < 1e-6 ? 0.0 : -20.0 * steady_log10(fabs(steady_sin(x) / x));
}

/// Returns the gain to be met
static double
gain_at(tape_limits limits, double f_hz)
{
  const double x   = 1.11 * DSP_PI * TAPE_GAP_M * f_hz / TAPE_SPEED_M_S;
  const double gap = x < 1e-6 ? 1.0 : steady_sin(x) / x; // Through its nulls
  const double spacing =
    steady_exp(-2.0 * DSP_PI * TAPE_SPACING_M * f_hz / TAPE_SPEED_M_S);
  double gain = gap * spacing;
  if (limits.playback_hz > 0.0) {
    gain /= sqrt(1.0 + steady_pow(f_hz / limits.playback_hz, 4.0));
  }
  if (limits.nothing_hz > 0.0) {
    const double y = clampd(2.0 * f_hz / limits.nothing_hz - 1.0, 0.0, 1.0);
    gain *= 0.5 + 0.5 * steady_cos(DSP_PI * y); // From half of it on
  }
  return gain;
}

/// Hann
static double
window(uint32_t k, uint32_t half)
{
  return 0.5 + 0.5 * steady_cos(DSP_PI * k / (half + 1.0));
}

void
tape_pass_init(tape_pass* p, tape_limits limits, double rate_hz)
{
  enum { STEPS = 1024 };
  const double   taps = 0.5 * (TAPE_TAPS - 1) * rate_hz / 48000.0;
  const uint32_t most = (TAPE_MAX_TAPS - 1) / 2;
  const uint32_t half = taps < most ? (uint32_t)(taps + 0.5) : most;

  // Inverse transform of the gain, one cosine per step by the recurrence
  // cos((k + 1) x) = 2 cos(x) cos(k x) - cos((k - 1) x)
  double h[TAPE_MAX_TAPS / 2 + 1] = {0};
  for (uint32_t i = 0; i < STEPS; ++i) {
    const double x = DSP_PI * (i + 0.5) / (double)STEPS;
    const double gain =
      gain_at(limits, 0.5 * rate_hz * (i + 0.5) / (double)STEPS);
    double c0 = 1.0;
    double c1 = steady_cos(x);
    for (uint32_t k = 0; k <= half; ++k) {
      h[k] += gain * c0;
      const double c2 = 2.0 * steady_cos(x) * c1 - c0;
      c0              = c1;
      c1              = c2;
    }
  }
  p->n = 2 * half + 1;
  for (uint32_t k = 0; k <= half; ++k) {
    const double tap = h[k] * window(k, half) / (double)STEPS;
    p->tap[half + k] = p->tap[half - k] = (float)tap;
  }
}

double
tape_pass_gain(const tape_pass* p, double f_hz, double rate_hz)
{
  const uint32_t half = p->n / 2;
  double         sum  = (double)p->tap[half];
  for (uint32_t k = 1; k <= half; ++k) {
    sum += 2.0 * (double)p->tap[half + k] *
           steady_cos(2.0 * DSP_PI * f_hz * k / rate_hz);
  }
  return sum;
}
