// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// The analog formula of common/filters/infra_cut.h, worked out apart from it:
/// poles and zeros of a generalised Chebyshev high-pass relative to its edge

#ifndef TESTS_SUPPORT_INFRA_CUT_ANALOG_H
#define TESTS_SUPPORT_INFRA_CUT_ANALOG_H

#include <complex.h>

/// Response at `f_hz`
static inline double complex
infra_cut_analog(double f_hz, double edge_hz)
{
  static const double AT[]   = {1.0143986, 0.7887747};
  static const double Q[]    = {0.595642, 2.002414};
  static const double ZERO[] = {0.0, 0.2651515};
  const double        x      = f_hz / edge_hz;
  double complex      h      = 1.0;
  for (int k = 0; k < 2; ++k) {
    const double complex s = (double complex)_Complex_I * x;
    h *=
      (s * s + ZERO[k] * ZERO[k]) / (s * s + s * AT[k] / Q[k] + AT[k] * AT[k]);
  }
  return h;
}

#endif // TESTS_SUPPORT_INFRA_CUT_ANALOG_H
