// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "eq_pole_zero.h"

#include "eq_section.h"

// Frequencies where the gain is matched re that of the poles, and the highest
// shares of the rate for both
#define LOWER_MATCH 0.6
#define MATCH_MOST  0.45
#define POLE_MOST   0.49

/// |1 + s / (w0 Q) + s^2 / w0^2|^2 = 1 + a x + b x^2, x = f^2
typedef struct {
  double a, b;
} quadratic;

static quadratic
quadratic_of(double f0_hz, double q)
{
  const double b = 1.0 / (f0_hz * f0_hz);
  return (quadratic){.a = (1.0 / (q * q) - 2.0) * b, .b = b * b};
}

/// Returns |H|^2 - 1 of the analog section, without cancellation
static double
power_effect(quadratic zeros, quadratic poles, double f_hz)
{
  const double x = f_hz * f_hz;
  return ((zeros.b - poles.b) * x + (zeros.a - poles.a)) * x /
         (1.0 + (poles.a + poles.b * x) * x);
}

// With |numerator|^2 = |denominator|^2 + c1 u + c2 u^2, two frequencies give c1
// and c2, which are 0 where H is 1
biquad
eq_of_pole_zero(eq_pole_zero p, double rate_hz)
{
  const double share =
    eq_share_of_rate(p.fp_hz, rate_hz, POLE_MOST); // Of the poles
  const double    top     = fmin(p.fp_hz, MATCH_MOST * rate_hz);
  const double    f_hz[2] = {LOWER_MATCH * top, top};
  const quadratic zeros   = quadratic_of(p.fz_hz, p.qz);
  const quadratic poles   = quadratic_of(p.fp_hz, p.qp);

  eq_section   s  = eq_section_poles(2.0 * DSP_PI * share, p.qp);
  const double gg = s.g * s.g;
  double       u[2], per_u[2];
  for (int i = 0; i < 2; ++i) {
    const double t = steady_tan(DSP_PI * f_hz[i] / rate_hz);
    u[i]           = t * t;
    const double d = (gg - u[i]) * (gg - u[i]) + s.k * s.k * gg * u[i];
    per_u[i]       = power_effect(zeros, poles, f_hz[i]) * d / u[i];
  }
  const double c2 = (per_u[1] - per_u[0]) / (u[1] - u[0]);
  const double c1 = per_u[0] - c2 * u[0];

  s.n2 = eq_root(1.0 + c2);
  s.n1 = eq_root(s.k * s.k + c1 / gg + 2.0 * (s.n2 - 1.0));
  return eq_section_biquad(s);
}

biquad
eq_high_shelf_4(double f0_hz, double gain_db, uint32_t i, double rate_hz)
{
  // Pole and zero pairs of the boost, sqrt(sqrt(G)) apart
  const double apart = db_to_gain(0.125 * fabs(gain_db));
  const double q     = eq_butterworth_q(4, i);
  const biquad boost = eq_of_pole_zero(
    (eq_pole_zero){
      .fp_hz = f0_hz * apart, .qp = q, .fz_hz = f0_hz / apart, .qz = q},
    rate_hz);
  return gain_db < 0.0 ? eq_reciprocal(boost) : boost;
}
