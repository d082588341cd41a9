// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Designs of equaliser sections that keep the analog curve up to Nyquist.
///
/// Matched shelves, bells and low-passes, so that a setting sounds the same at
/// every sample rate; Butterworth high-passes below 400 Hz are bilinear, where
/// that is exact to 0.005 dB.  Cuts are the reciprocal of the boost: boost and
/// cut of the same amount cancel to rounding.  At 0 dB H is 1, to the bit, its
/// poles on its zeros, so that a gain may glide through 0 dB.
///
/// M. Vicanek, "Matched Second Order Digital Filters" (2016), "Matched One-Pole
/// Digital Shelving Filters" (2019), "Matched Two-Pole Digital Shelving
/// Filters" (2024).  Prototypes: W3C Group Note "Audio EQ Cookbook" (2021).
///
/// Designs are pure functions in double, real-time safe (a few libm calls), and
/// never fail: frequencies are clamped to 0.75 of the rate (shelves), 0.49
/// (others).

#ifndef COMMON_FILTERS_EQ_H
#define COMMON_FILTERS_EQ_H

#include "common/core/dsp.h"

/// H(z) = (b0 + b1/z + b2/z^2) / (1 + a1/z + a2/z^2)
typedef struct {
  double b0, b1, b2, a1, a2;
} biquad;

/// Returns a section that passes the signal unchanged
static inline biquad
eq_unity(void)
{
  return (biquad){.b0 = 1.0};
}

/// Returns 1 / H, for minimum-phase H
biquad
eq_reciprocal(biquad q);

/// Designs a two-pole Butterworth shelf: `gain_db` above (below) `f0_hz`, half
/// of it, in dB, at `f0_hz`.  -24 to 24 dB.
biquad
eq_high_shelf(double f0_hz, double gain_db, double rate_hz);

biquad
eq_low_shelf(double f0_hz, double gain_db, double rate_hz);

/// Designs a one-pole shelf, 6 dB per octave: `gain_db` far above `f0_hz`, half
/// of it at `f0_hz`
biquad
eq_high_shelf_1(double f0_hz, double gain_db, double rate_hz);

/// Designs a bell of `gain_db` at `f0_hz`; `q` is the cookbook's Q (see
/// eq_q_of_oct)
biquad
eq_bell(double f0_hz, double gain_db, double q, double rate_hz);

/// Returns the Q of a bell whose width between its half-gain (in dB) points is
/// `oct` octaves
double
eq_q_of_oct(double oct);

/// Designs a two-pole low-pass with pole quality `q`
biquad
eq_low_pass(double f0_hz, double q, double rate_hz);

/// Designs a two-pole high-pass with pole quality `q`, and a one-pole high-pass
/// (both bilinear)
biquad
eq_high_pass(double f0_hz, double q, double rate_hz);

biquad
eq_high_pass_1(double f0_hz, double rate_hz);

/// Designs a two-pole notch: 0 at `f0_hz`, -3 dB at f0 +- f0/(2 q)
biquad
eq_notch(double f0_hz, double q, double rate_hz);

/// Returns the pole quality of two-pole section `i` (from 0) of a Butterworth
/// filter of `order`; an odd order has one more one-pole section
double
eq_butterworth_q(uint32_t order, uint32_t i);

/// Returns |H| in dB at `f_hz`
double
eq_response_db(biquad q, double f_hz, double rate_hz);

#endif // COMMON_FILTERS_EQ_H
