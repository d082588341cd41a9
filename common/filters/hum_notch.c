// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "hum_notch.h"

#include <complex.h>

#define MAX_ORDER 3
#define N_MODES   (2 * HUM_PAIRS)

static const double stop_db = 33.0;

/// One harmonic: half width of the stop band, and order
typedef struct {
  double   half_hz;
  uint32_t order;
} band_stop;

/// Widths where 1.5 dB are lost (our choice): narrow where notes are close,
/// but never so narrow that settling takes longer than a quarter of a second
static band_stop
band_stop_of(uint32_t harmonic)
{
  return harmonic <= 5
           ? (band_stop){.half_hz = (0.8 + 0.4 * harmonic) / 5.938, .order = 2}
           : (band_stop){.half_hz = 2.6 / 2.687, .order = 3};
}

/// Poles and zeros above the real axis, in z
typedef struct {
  uint32_t       n;
  double complex pole[N_MODES], zero[N_MODES];
} roots;

/// Not CMPLX(), which not every compiler has
static double complex
complex_of(double re, double im)
{
  return re + im * (double complex)I;
}

/// Root above the real axis of s^2 - q s + t2 = 0, carried to z
static double complex
upper_root(double complex q, double t2)
{
  const double complex r = steady_csqrt(q * q - 4.0 * t2);
  const double complex s = 0.5 * (cimag(r) > 0.0 ? q + r : q - r);
  return (1.0 + s) / (1.0 - s);
}

/// Inverse Chebyshev low-pass, s_lp = b s / (s^2 + t2), s = (z - 1) / (z + 1)
static void
add_band_stop(roots* r, double f_hz, band_stop b, double rate_hz)
{
  const double t_low  = steady_tan(DSP_PI * (f_hz - b.half_hz) / rate_hz);
  const double t_high = steady_tan(DSP_PI * (f_hz + b.half_hz) / rate_hz);
  const double t2     = t_low * t_high;
  const double width  = t_high - t_low;
  const double mu =
    steady_asinh(sqrt(steady_pow(10.0, stop_db / 10.0) - 1.0)) / b.order;
  for (uint32_t i = 0; i < b.order; ++i) {
    const double         angle = DSP_PI * (2.0 * i + 1.0) / (2.0 * b.order);
    const double complex one_by_pole =
      complex_of(-steady_sin(angle) * steady_sinh(mu),
                 steady_cos(angle) * steady_cosh(mu));
    // A zero at cos = 0 is at infinity, which lands on the harmonic itself
    const double complex one_by_zero = complex_of(0.0, -steady_cos(angle));
    r->pole[r->n]                    = upper_root(width * one_by_pole, t2);
    r->zero[r->n]                    = upper_root(width * one_by_zero, t2);
    ++r->n;
  }
}

/// Residue at pole `i` of gain x prod (1 - zero/z) / prod (1 - pole/z), both
/// with their conjugates, as the weight of 1 / (z - pole)
static double complex
residue(const roots* r, uint32_t i, double gain)
{
  const double complex p    = r->pole[i];
  double complex       part = gain * p;
  for (uint32_t j = 0; j < r->n; ++j) {
    part *= (p - r->zero[j]) * (p - conj(r->zero[j])) / (p - conj(r->pole[j]));
    part /= j == i ? p : p - r->pole[j];
  }
  return part;
}

hum_design
hum_design_for(double mains_hz, double rate_hz)
{
  roots r = {.n = 0};
  for (uint32_t k = 1; k <= HUM_HARMONICS; ++k) {
    add_band_stop(&r, mains_hz * k, band_stop_of(k), rate_hz);
  }

  double gain = 1.0; // For 1 at DC
  for (uint32_t i = 0; i < r.n; ++i) {
    const double ratio =
      steady_cabs(1.0 - r.pole[i]) / steady_cabs(1.0 - r.zero[i]);
    gain *= ratio * ratio;
  }

  hum_design d = {.direct = gain - 1.0};
  for (uint32_t i = 0; i < r.n; ++i) {
    const double complex part = 2.0 * residue(&r, i, gain);
    // Steady: complex numbers are not divided alike everywhere
    d.pole_re[i / 2][i % 2] = steady(creal(r.pole[i]));
    d.pole_im[i / 2][i % 2] = steady(cimag(r.pole[i]));
    d.part_re[i / 2][i % 2] = steady(creal(part));
    d.part_im[i / 2][i % 2] = steady(cimag(part));
  }
  return d;
}

void
hum_run(const hum_design* d,
        hum_memory*       m,
        const f64x2*      x,
        uint32_t          k,
        double*           minus_hum,
        uint32_t          n)
{
  f64x2 sum[CONTROL_FRAMES];
  for (uint32_t i = 0; i < n; ++i) {
    sum[i] = (f64x2){d->direct * x[i][k], 0.0};
  }
  // Two pairs at a time: as many as the registers hold
  for (uint32_t j = 0; j < HUM_PAIRS; j += 2) {
    f64x2 re[2] = {m->re[j], m->re[j + 1]};
    f64x2 im[2] = {m->im[j], m->im[j + 1]};
    for (uint32_t i = 0; i < n; ++i) {
      const f64x2 v = {x[i][k], x[i][k]};
      for (uint32_t l = 0; l < 2; ++l) {
        const f64x2 p_re = d->pole_re[j + l];
        const f64x2 p_im = d->pole_im[j + l];
        sum[i] += d->part_re[j + l] * re[l] - d->part_im[j + l] * im[l];
        const f64x2 now = p_re * re[l] - p_im * im[l] + v;
        im[l]           = p_re * im[l] + p_im * re[l];
        re[l]           = now;
      }
    }
    for (uint32_t l = 0; l < 2; ++l) {
      m->re[j + l] = re[l];
      m->im[j + l] = im[l];
    }
  }
  for (uint32_t i = 0; i < n; ++i) {
    minus_hum[i] = sum[i][0] + sum[i][1];
  }
}

double
hum_response_db(const hum_design* d, double f_hz, double rate_hz)
{
  // Each resonator with its conjugate: Re(part s), s = 1 / (z - pole)
  const double complex z =
    steady_cexp(complex_of(0.0, 2.0 * DSP_PI * f_hz / rate_hz));
  double complex h = 1.0 + d->direct;
  for (uint32_t i = 0; i < N_MODES; ++i) {
    const double complex pole =
      complex_of(d->pole_re[i / 2][i % 2], d->pole_im[i / 2][i % 2]);
    const double complex part =
      complex_of(d->part_re[i / 2][i % 2], d->part_im[i / 2][i % 2]);
    h += 0.5 * (part / (z - pole) + conj(part) / (z - conj(pole)));
  }
  return gain_to_db(steady_cabs(h) + 1e-30);
}
