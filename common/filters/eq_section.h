// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// The form in which sections are designed.  Part of eq.c and eq_pole_zero.c.
///
/// Designs are worked out over s = j tan(w/2), where any section reads
///
///   H = (n2 s^2 + n1 g s + n0 g^2) / (s^2 + k g s + g^2)
///
/// with n0 the gain at DC and n2 that at Nyquist, and where, with u =
/// tan^2(w/2),
///
///   |denominator|^2 = g^4 + (k^2 - 2) g^2 u + u^2
///   |numerator|^2   = n0^2 g^4 + (n1^2 - 2 n0 n2) g^2 u + n2^2 u^2
///
/// This is the arithmetic of Vicanek's papers in another variable: it needs no
/// difference of nearly equal numbers, so 20 Hz at 384 kHz is as exact as 5 kHz
/// at 48 kHz, and a gain of exactly 0 dB gives exactly H = 1.

#ifndef COMMON_FILTERS_EQ_SECTION_H
#define COMMON_FILTERS_EQ_SECTION_H

#include "eq.h"

typedef struct {
  double g, k, n0, n1, n2;
} eq_section;

static inline biquad
eq_section_biquad(eq_section s)
{
  const double gg = s.g * s.g;
  const double d  = 1.0 + s.k * s.g + gg;
  return (biquad){
    .b0 = (s.n2 + s.n1 * s.g + s.n0 * gg) / d,
    .b1 = 2.0 * (s.n0 * gg - s.n2) / d,
    .b2 = (s.n2 - s.n1 * s.g + s.n0 * gg) / d,
    .a1 = 2.0 * (gg - 1.0) / d,
    .a2 = (1.0 - s.k * s.g + gg) / d,
  };
}

/// Square root of a value that only rounding can bring below 0
static inline double
eq_root(double x)
{
  return sqrt(fmax(x, 0.0));
}

/// Frequency as a share of the rate
static inline double
eq_share_of_rate(double f0_hz, double rate_hz, double highest)
{
  return clampd(f0_hz / rate_hz, 1e-6, highest);
}

/// Poles of the analog section with quality `q` carried over by z = exp(s T)
/// (Vicanek 2016); n0 is 1, n1 and n2 are left to the caller
static inline eq_section
eq_section_poles(double w0, double q)
{
  const double damping = 0.5 / q;
  const double d       = steady_expm1(-damping * w0);
  double       p; // 1 + a1 + a2
  double       m; // 1 - a1 + a2
  if (damping <= 1.0) {
    const double e     = 1.0 + d;
    const double half  = 0.5 * w0 * sqrt(1.0 - damping * damping);
    const double sines = 4.0 * e * steady_sin(half) * steady_sin(half);
    p                  = d * d + sines;
    m                  = (1.0 + e) * (1.0 + e) - sines;
  } else {
    const double slow = w0 / (damping + sqrt(damping * damping - 1.0));
    const double fast = w0 * w0 / slow;
    p                 = steady_expm1(-slow) * steady_expm1(-fast);
    m                 = (1.0 + steady_exp(-slow)) * (1.0 + steady_exp(-fast));
  }
  const double one_less_a2 = -d * (2.0 + d); // Of exp(-2 damping w0)
  return (eq_section){
    .g = sqrt(p / m), .k = 2.0 * one_less_a2 / sqrt(p * m), .n0 = 1.0};
}

#endif // COMMON_FILTERS_EQ_SECTION_H
