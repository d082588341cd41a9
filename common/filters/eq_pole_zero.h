// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Sections with a pair of poles and a pair of zeros in different places, which
/// keep the analog curve up to Nyquist:
///
///   H(s) = (s^2 / wz^2 + s / (wz Qz) + 1) / (s^2 / wp^2 + s / (wp Qp) + 1)
///
/// The poles are carried over by z = exp(s T) as in eq.h; DC and the analog
/// gain at 0.6 fp and fp are matched.  Where fp lies above the band (0.45 of
/// the rate), the gain at 0.27 and 0.45 of the rate is matched instead, so
/// that at a low rate what is left of the curve below Nyquist remains.
///
/// At 44.1 kHz: pairs up to 15 kHz within 0.16 dB to 12.5 kHz, the shelf below
/// within 0.12 dB to 20 kHz; at 88.2 kHz and more within 0.01 dB.  At 8 to 32
/// kHz: within 0.35 dB to a quarter of the rate, 4.5 dB to 0.45 of it.
///
/// Pure functions in double, real-time safe (a few libm calls), never fail.
/// After M. Vicanek, "Matched Second Order Digital Filters" (2016), which
/// matches bells and passes; two frequencies for any zeros are our choice.

#ifndef COMMON_FILTERS_EQ_POLE_ZERO_H
#define COMMON_FILTERS_EQ_POLE_ZERO_H

#include "eq.h"

typedef struct {
  double fp_hz, qp; ///< Poles
  double fz_hz, qz; ///< Zeros
} eq_pole_zero;

/// Designs such a section: 1 at DC, exactly 1 everywhere where the zeros lie on
/// the poles
biquad
eq_of_pole_zero(eq_pole_zero p, double rate_hz);

/// Sections of eq_high_shelf_4()
#define EQ_SHELF_4_SECTIONS 2

/// Designs section `i` of a fourth-order shelf, |H|^2 = (1 + G x^8) / (1 + x^8
/// / G) with x = f / f0: `gain_db` far above `f0_hz`, half of it, in dB, there.
/// Half an octave below, 6 dB lift by 0.4 dB, where a two-pole shelf lifts by
/// 1.2.  A cut is the reciprocal of the boost.  -12 to 12 dB.
biquad
eq_high_shelf_4(double f0_hz, double gain_db, uint32_t i, double rate_hz);

#endif // COMMON_FILTERS_EQ_POLE_ZERO_H
