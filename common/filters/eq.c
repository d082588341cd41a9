// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "eq.h"

#include "eq_section.h"

biquad
eq_reciprocal(biquad q)
{
  return (biquad){.b0 = 1.0 / q.b0,
                  .b1 = q.a1 / q.b0,
                  .b2 = q.a2 / q.b0,
                  .a1 = q.b1 / q.b0,
                  .a2 = q.b2 / q.b0};
}

/// Vicanek 2024.  The prototype is |H|^2 = (fc^4 + G f^4) / (fc^4 + f^4 / G),
/// frequencies as shares of Nyquist.  Matched are DC with its curvature,
/// Nyquist, and the two frequencies below.
static biquad
high_shelf_boost(double fc, double gain)
{
  const double fc2  = fc * fc;
  const double fc4  = fc2 * fc2;
  const double f[2] = {fc / sqrt(0.160 + 1.543 * fc2),
                       fc / sqrt(0.947 + 3.806 * fc2)};
  double       u[2]; // tan^2(w/2) at f
  double       c[2]; // (|H(1)|^2 - 1) / (|H(f)|^2 - 1) - 1, written out
  for (int i = 0; i < 2; ++i) {
    const double t  = steady_tan(0.5 * DSP_PI * f[i]);
    const double f4 = f[i] * f[i] * f[i] * f[i];
    u[i]            = t * t;
    c[i]            = fc4 * (1.0 - f4) / (f4 * (fc4 + 1.0 / gain));
  }

  // |H|^2 = (1 + m u + hn l u^2) / (1 + m u + l u^2), hn = |H(1)|^2
  const double l  = (1.0 / u[0] - 1.0 / u[1]) / (u[0] * c[0] - u[1] * c[1]);
  const double m  = l * u[0] * c[0] - 1.0 / u[0];
  const double hn = 1.0 + (gain - 1.0 / gain) / (fc4 + 1.0 / gain);
  const double n2 = sqrt(hn);
  const double r  = sqrt(l);
  return eq_section_biquad((eq_section){.g  = 1.0 / sqrt(r),
                                        .k  = eq_root(2.0 + m / r),
                                        .n0 = 1.0,
                                        .n1 = eq_root(2.0 * n2 + m / r),
                                        .n2 = n2});
}

biquad
eq_high_shelf(double f0_hz, double gain_db, double rate_hz)
{
  const double fc    = 2.0 * eq_share_of_rate(f0_hz, rate_hz, 0.75);
  const biquad boost = high_shelf_boost(fc, db_to_gain(fabs(gain_db)));
  return gain_db < 0.0 ? eq_reciprocal(boost) : boost;
}

biquad
eq_low_shelf(double f0_hz, double gain_db, double rate_hz)
{
  biquad       q    = eq_high_shelf(f0_hz, -gain_db, rate_hz);
  const double gain = db_to_gain(gain_db);
  q.b0 *= gain;
  q.b1 *= gain;
  q.b2 *= gain;
  return q;
}

/// Vicanek 2019.  The prototype is |H|^2 = (1 + G x^2) / (1 + x^2 / G) with
/// x = f/f0.  Matched are DC with its curvature and 0.9 of Nyquist.
biquad
eq_high_shelf_1(double f0_hz, double gain_db, double rate_hz)
{
  const double fm = 0.9;
  const double c  = 4.0 / (DSP_PI * DSP_PI);
  const double c0 = 1.0 + c / (fm * fm) - 2.0 / (1.0 - steady_cos(DSP_PI * fm));
  const double fc = 2.0 * eq_share_of_rate(f0_hz, rate_hz, 0.75);
  const double gain = db_to_gain(gain_db);
  const double zero = sqrt(c0 + c * gain / (fc * fc)); // 1 / tan(w/2) there
  const double pole = sqrt(c0 + c / (gain * fc * fc));
  return (biquad){.b0 = (1.0 + zero) / (1.0 + pole),
                  .b1 = (1.0 - zero) / (1.0 + pole),
                  .a1 = (1.0 - pole) / (1.0 + pole)};
}

/// Matched are DC, and gain and zero slope at the centre
static biquad
bell_boost(double w0, double gain, double q)
{
  eq_section   s    = eq_section_poles(w0, sqrt(gain) * q);
  const double t    = steady_tan(0.5 * w0);
  const double rho2 = s.g * s.g / (t * t);
  const double gg   = gain * gain;
  const double gk   = gain * s.k;

  s.n2 = eq_root(gg - (gg - 1.0) * rho2 * rho2);
  s.n1 = eq_root(gk * gk + 2.0 * (gg - 1.0) * rho2 - 2.0 * (gg - s.n2));
  return eq_section_biquad(s);
}

biquad
eq_bell(double f0_hz, double gain_db, double q, double rate_hz)
{
  const double w0    = 2.0 * DSP_PI * eq_share_of_rate(f0_hz, rate_hz, 0.49);
  const biquad boost = bell_boost(w0, db_to_gain(fabs(gain_db)), q);
  return gain_db < 0.0 ? eq_reciprocal(boost) : boost;
}

double
eq_q_of_oct(double oct)
{
  // 1 / (2 sinh(x)) with x = oct ln(2) / 2: one exponential is quicker on each
  // line of the grid, and as exact for the widths in use
  const double e = steady_exp(0.34657359027997265 * oct);
  return e / (e * e - 1.0);
}

/// Matched are DC and the gain `q` at the corner; the third condition is that
/// the numerator has one zero only (b2 = 0), which puts n1 g = n2 + g^2
biquad
eq_low_pass(double f0_hz, double q, double rate_hz)
{
  const double w0 = 2.0 * DSP_PI * eq_share_of_rate(f0_hz, rate_hz, 0.49);
  eq_section   s  = eq_section_poles(w0, q);
  const double t  = steady_tan(0.5 * w0);
  const double u  = t * t;
  const double gg = s.g * s.g;
  const double d2 = (gg - u) * (gg - u) + s.k * s.k * gg * u;

  s.n2 = eq_root((q * q * d2 / (1.0 + u) - gg * gg) / u);
  s.n1 = (s.n2 + gg) / s.g;
  return eq_section_biquad(s);
}

biquad
eq_high_pass(double f0_hz, double q, double rate_hz)
{
  const double g = steady_tan(DSP_PI * eq_share_of_rate(f0_hz, rate_hz, 0.49));
  return eq_section_biquad((eq_section){.g = g, .k = 1.0 / q, .n2 = 1.0});
}

biquad
eq_high_pass_1(double f0_hz, double rate_hz)
{
  const double g = steady_tan(DSP_PI * eq_share_of_rate(f0_hz, rate_hz, 0.49));
  return (biquad){
    .b0 = 1.0 / (1.0 + g), .b1 = -1.0 / (1.0 + g), .a1 = (g - 1.0) / (1.0 + g)};
}

biquad
eq_notch(double f0_hz, double q, double rate_hz)
{
  const double g = steady_tan(DSP_PI * eq_share_of_rate(f0_hz, rate_hz, 0.49));
  return eq_section_biquad(
    (eq_section){.g = g, .k = 1.0 / q, .n0 = 1.0, .n2 = 1.0});
}

double
eq_butterworth_q(uint32_t order, uint32_t i)
{
  // Called on each line of the grid while a corner moves
  static const double of_4[] = {0.54119610014619701, 1.3065629648763764};
  if (order == 4 && i < 2) {
    return of_4[i]; // 1 / (2 cos(pi/8)), 1 / (2 cos(3 pi/8))
  }
  // Angle of the pole pair from the negative real axis
  const double angle =
    order % 2 ? DSP_PI * (i + 1.0) / order : DSP_PI * (i + 0.5) / order;
  return 0.5 / steady_cos(angle);
}

/// |c0 + c1/z + c2/z^2|^2 at z = exp(jw), by the sine of half the angle:
/// without differences of cosines that are nearly 1
static double
power_at(double c0, double c1, double c2, double w)
{
  const double half = steady_sin(0.5 * w);
  const double p    = half * half;
  const double re   = c0 + c1 + c2 - 2.0 * p * (c0 + c2);
  return re * re + 4.0 * p * (1.0 - p) * (c0 - c2) * (c0 - c2);
}

double
eq_response_db(biquad q, double f_hz, double rate_hz)
{
  const double w = 2.0 * DSP_PI * f_hz / rate_hz;
  return 0.5 * gain_to_db((power_at(q.b0, q.b1, q.b2, w) + 1e-300) /
                          power_at(1.0, q.a1, q.a2, w));
}
