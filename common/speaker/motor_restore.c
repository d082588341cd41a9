// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "motor.h"

#include <complex.h>

// Magnitudes here are polynomials in p = sin^2(w/2): a first-order factor with
// its root at z = r and gain 1 at DC is |.|^2 = 1 + 4 r / (1 - r)^2 p.

/// Roots of the coil's electrical response on the negative real axis, in rad/s:
/// (1 + s/zero) / ((1 + s/slow) (1 + s/fast))
typedef struct {
  double slow, fast, zero;
} coil_roots;

static coil_roots
roots_of_coil(const motor_driver* d, double r_ohm)
{
  const double a = d->le_h * d->l2_h;
  const double b = r_ohm * d->l2_h + d->le_h * d->r2_ohm + d->r2_ohm * d->l2_h;
  const double c = r_ohm * d->r2_ohm;
  const double q = 0.5 * (b + sqrt(b * b - 4.0 * a * c));
  // Without eddies there is one pole; the other and the zero are far away
  const double far = 1e9;
  return (coil_roots){.slow = c / q,
                      .fast = a > 0.0 ? q / a : far,
                      .zero = a > 0.0 ? d->r2_ohm / d->l2_h : far};
}

/// Where the midpoint rule, and where sampling, puts a root at -w rad/s
static double
midpoint_root(double w, double rate_hz)
{
  return (2.0 * rate_hz - w) / (2.0 * rate_hz + w);
}

static double
sampled_root(double w, double rate_hz)
{
  return steady_exp(-w / rate_hz);
}

static double
slope_of_root(double r)
{
  return 4.0 * r / ((1.0 - r) * (1.0 - r));
}

/// |acceleration / EMF| at w rad/s
static double
linear_response(const motor_driver* d, double r_ohm, double w)
{
  const double complex s = (double complex)I * w;
  const double complex eddy =
    s * d->l2_h * d->r2_ohm / (d->r2_ohm + s * d->l2_h);
  const double complex electric = r_ohm + s * d->le_h + eddy;
  const double complex moving   = s * s * d->mms_kg + s * d->rms + d->kms;
  return steady_cabs(s * s * d->bl / (electric * moving + d->bl * d->bl * s));
}

/// Sets the minimum-phase b0 + b1/z + b2/z^2 of |.|^2 = 1 + n1 p + n2 p^2,
/// which has to be above 0 (Vicanek 2016)
static void
set_zeros(biquad* q, double n1, double n2)
{
  const double at_dc      = 1.0;
  const double at_nyquist = sqrt(fmax(1.0 + n1 + n2, 1e-6));

  const double w = 0.5 * (at_dc + at_nyquist);
  q->b0          = 0.5 * (w + sqrt(fmax(w * w - 0.25 * n2, 0.0)));
  q->b1          = 0.5 * (at_dc - at_nyquist);
  q->b2          = n2 / (16.0 * q->b0);
}

/// Moves a pole and a zero from where they were to where they should be; gain 1
/// at DC
static biquad
move_roots(double pole_was, double pole, double zero_was, double zero)
{
  const double b0 =
    (1.0 - pole) * (1.0 - zero_was) / ((1.0 - pole_was) * (1.0 - zero));
  return (biquad){.b0 = b0,
                  .b1 = -b0 * (pole_was + zero),
                  .b2 = b0 * pole_was * zero,
                  .a1 = -(pole + zero_was),
                  .a2 = pole * zero_was};
}

/// |.|^2 of that
static double
moved_roots(double pole_was,
            double pole,
            double zero_was,
            double zero,
            double p)
{
  return (1.0 + slope_of_root(pole_was) * p) * (1.0 + slope_of_root(zero) * p) /
         ((1.0 + slope_of_root(pole) * p) *
          (1.0 + slope_of_root(zero_was) * p));
}

void
motor_design_restore(const motor_driver* driver,
                     double              source_ohm,
                     double              rate_hz,
                     biquad              restore[2])
{
  const double     r_ohm = driver->re_ohm + source_ohm;
  const coil_roots w     = roots_of_coil(driver, r_ohm);

  // The slow pole and the zero: from the midpoint rule's to the sampled ones
  const double pole_was = midpoint_root(w.slow, rate_hz);
  const double pole     = sampled_root(w.slow, rate_hz);
  const double zero_was = midpoint_root(w.zero, rate_hz);
  const double zero     = sampled_root(w.zero, rate_hz);
  restore[0]            = move_roots(pole_was, pole, zero_was, zero);

  // The fast pole as sampled, and two zeros that make the whole exact at two
  // frequencies
  const double fast = sampled_root(w.fast, rate_hz);
  const double f[2] = {fmin(6000.0, 0.225 * rate_hz),
                       fmin(15000.0, 0.425 * rate_hz)};
  double       p[2];
  double       y[2]; // (|zeros|^2 - 1) / p = n1 + n2 p
  for (int i = 0; i < 2; ++i) {
    const double half = DSP_PI * f[i] / rate_hz;
    p[i]              = steady_sin(half) * steady_sin(half);

    // The force at the end of a frame, not in its middle, drives the output:
    // this takes cos(half) out of the midpoint rule's response
    const double w_is = 2.0 * rate_hz * steady_tan(half);
    const double is   = linear_response(driver, r_ohm, w_is) / steady_cos(half);
    const double want = linear_response(driver, r_ohm, 2.0 * DSP_PI * f[i]);
    const double done = is * is *
                        moved_roots(pole_was, pole, zero_was, zero, p[i]) /
                        (1.0 + slope_of_root(fast) * p[i]);
    y[i] = (want * want / done - 1.0) / p[i];
  }

  const double n2 = (y[1] - y[0]) / (p[1] - p[0]);
  const double n1 = y[0] - n2 * p[0];
  set_zeros(&restore[1], n1, n2);
  restore[1].b0 *= 1.0 - fast;
  restore[1].b1 *= 1.0 - fast;
  restore[1].b2 *= 1.0 - fast;
  restore[1].a1 = -fast;
  restore[1].a2 = 0.0;
}
