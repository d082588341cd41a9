// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "string_filters.h"

#include "repeatable.h"

#include <stdbool.h>

#define TOP_HZ          10000.0 // Losses and dispersion are fitted up to here
#define MAX_HAND_NEPERS 1.2     // Per period
#define SMOOTH          0.85    // Abel and Smith's beta: dip of the group delay

typedef struct {
  double re, im;
} complex_pair;

// 1 - depth (1 - lowpass) of a shelf at `w` rad per frame
static complex_pair
shelf_response(double depth, double share, double w)
{
  const double q  = 1.0 - share;
  const double re = 1.0 - q * rp_cos(w);
  const double im = q * rp_sin(w);
  const double s  = depth * share / (re * re + im * im);
  return (complex_pair){1.0 - depth + s * re, -s * im};
}

double
loss_filter_gain(const loss_filter* l, double f_hz, double rate_hz)
{
  const double w  = 2.0 * RP_PI * f_hz / rate_hz;
  double       g2 = l->gain * l->gain;
  for (uint32_t i = 0; i < LOSS_SHELVES; ++i) {
    const complex_pair s = shelf_response(l->depth[i], l->share[i], w);
    g2 *= s.re * s.re + s.im * s.im;
  }
  return sqrt(g2);
}

double
loss_filter_delay(const loss_filter* l, double f_hz, double rate_hz)
{
  const double w     = 2.0 * RP_PI * f_hz / rate_hz;
  double       angle = 0.0;
  for (uint32_t i = 0; i < LOSS_SHELVES; ++i) {
    const complex_pair s = shelf_response(l->depth[i], l->share[i], w);
    angle += rp_atan(s.im / s.re);
  }
  return -angle / w;
}

#define POINTS (OWN_SHELVES + 1)

// Gaussian elimination without pivoting: the diagonal dominates by construction
static void
solve(double m[POINTS][POINTS], double* x)
{
  for (uint32_t i = 0; i < POINTS; ++i) {
    for (uint32_t j = i + 1; j < POINTS; ++j) {
      const double f = m[j][i] / m[i][i];
      for (uint32_t k = i; k < POINTS; ++k) {
        m[j][k] -= f * m[i][k];
      }
      x[j] -= f * x[i];
    }
  }
  for (uint32_t i = POINTS; i-- > 0;) {
    for (uint32_t k = i + 1; k < POINTS; ++k) {
      x[i] -= m[i][k] * x[k];
    }
    x[i] /= m[i][i];
  }
}

// One Newton step with the small-loss Jacobian; `nepers` are those of the gain,
// then those of each shelf
static void
refine(loss_filter*  l,
       double*       nepers,
       const double* f_hz,
       const double* corner_hz,
       const double* want,
       double        rate_hz)
{
  double m[POINTS][POINTS];
  double miss[POINTS];
  for (uint32_t j = 0; j < POINTS; ++j) {
    m[j][0] = 1.0;
    for (uint32_t i = 0; i < OWN_SHELVES; ++i) {
      const double x = f_hz[j] / corner_hz[i];
      m[j][i + 1]    = x * x / (1.0 + x * x);
    }
    miss[j] = want[j] + rp_log(loss_filter_gain(l, f_hz[j], rate_hz));
  }
  solve(m, miss);

  for (uint32_t i = 0; i < POINTS; ++i) {
    nepers[i] += miss[i];
    nepers[i] = nepers[i] < 0.0 ? 0.0 : nepers[i];
  }
  l->gain = rp_exp(-nepers[0]);
  for (uint32_t i = 0; i < OWN_SHELVES; ++i) {
    l->depth[i] = 1.0 - rp_exp(-nepers[i + 1]);
  }
}

loss_filter
loss_filter_of(const string_gauge* g,
               double              f1_hz,
               double              support,
               double              rate_hz)
{
  // The four points and the corners between them are spread evenly in octaves
  const double step = rp_exp(rp_log(TOP_HZ / f1_hz) / OWN_SHELVES);

  loss_filter l              = {.gain = 1.0};
  double      nepers[POINTS] = {0.0};
  double      f_hz[POINTS]   = {f1_hz};
  double      corner_hz[OWN_SHELVES];
  double      want[POINTS];
  for (uint32_t i = 0; i < OWN_SHELVES; ++i) {
    corner_hz[i] = 0.75 * f_hz[i] * step;
    f_hz[i + 1]  = f_hz[i] * step;
    l.share[i]   = 1.0 - rp_exp(-2.0 * RP_PI * corner_hz[i] / rate_hz);
  }
  for (uint32_t j = 0; j < POINTS; ++j) {
    // A dead spot acts on the first partial, not on all partials between two
    // points of the fit
    const double rest = support * string_support_s_kg(j == 0 ? f1_hz : 0.0);
    const double rate = string_loss_rate(g, f1_hz, f_hz[j], rest);
    want[j]           = rate / f1_hz;
  }
  for (uint32_t k = 0; k < 6; ++k) {
    refine(&l, nepers, f_hz, corner_hz, want, rate_hz);
  }
  return l;
}

loss_filter
loss_filter_damped(const loss_filter* own,
                   double             f1_hz,
                   string_damping     hands,
                   double             rate_hz)
{
  // A shelf from 0 to `nepers`, whose middle is exp(nepers / 2) times its pole
  const uint32_t k       = OWN_SHELVES;
  const double   wish    = (hands.high - hands.low) / f1_hz;
  const double   nepers  = wish < MAX_HAND_NEPERS ? wish : MAX_HAND_NEPERS;
  const double   pole_hz = HANDS_HZ * rp_exp(-0.5 * nepers);
  loss_filter    l       = *own;
  l.gain *= rp_exp(-hands.low / f1_hz);
  l.depth[k] = 1.0 - rp_exp(-nepers);
  l.share[k] = 1.0 - rp_exp(-2.0 * RP_PI * pole_hz / rate_hz);
  return l;
}

// Number of the partial at `f_hz`, as a real number: the inverse of
// f_n = n f0 sqrt(1 + B n^2)
static double
partial_at(double f_hz, double f0_hz, double b)
{
  const double x = f_hz / f0_hz;
  // (sqrt(1 + 4 B x^2) - 1) / 2 B without cancellation
  return x * sqrt(2.0 / (1.0 + sqrt(1.0 + 4.0 * b * x * x)));
}

dispersion_filter
dispersion_filter_of(double f1_hz, double inharmonicity, double rate_hz)
{
  const double b     = inharmonicity;
  const double f0_hz = f1_hz / sqrt(1.0 + b);
  const double n_top = partial_at(TOP_HZ, f0_hz, b);

  // The plain delay carries the group delay at the top; the phase left over,
  // in periods, is the number of sections.  One more lets them overlap better.
  const double group_s =
    sqrt(1.0 + b * n_top * n_top) / (f0_hz * (1.0 + 2.0 * b * n_top * n_top));
  dispersion_filter d = {.n = 1U + (uint32_t)ceil(n_top - group_s * TOP_HZ)};
  d.n                 = d.n < MAX_SECTIONS ? d.n : MAX_SECTIONS;
  const double line_s = (n_top - d.n) / TOP_HZ;

  double from_hz = 0.0;
  for (uint32_t i = 0; i < d.n; ++i) {
    double lo = from_hz;
    double hi = TOP_HZ;
    for (uint32_t k = 0; k < 50; ++k) { // Where the next period is complete
      const double mid  = 0.5 * (lo + hi);
      const bool   less = partial_at(mid, f0_hz, b) - line_s * mid < i + 1.0;
      lo                = less ? mid : lo;
      hi                = less ? hi : mid;
    }

    const double centre = RP_PI * (hi + from_hz) / rate_hz;
    const double half   = RP_PI * (hi - from_hz) / rate_hz;
    const double eta    = (1.0 - SMOOTH * rp_cos(half)) / (1.0 - SMOOTH);
    const double radius = eta - sqrt(eta * eta - 1.0);
    d.a1[i]             = -2.0 * radius * rp_cos(centre);
    d.a2[i]             = radius * radius;
    from_hz             = hi;
  }
  return d;
}

double
dispersion_filter_delay(const dispersion_filter* d, double f_hz, double rate_hz)
{
  const double w     = 2.0 * RP_PI * f_hz / rate_hz;
  const double c     = rp_cos(w);
  const double s     = rp_sin(w);
  double       angle = 0.0;
  for (uint32_t i = 0; i < d->n; ++i) {
    // Phase is -2 w - 2 arg(1 + a1 z^-1 + a2 z^-2).  The two poles turn on
    // opposite sides, so that the sum stays within +-pi: half-angle arctangent.
    const double re = 1.0 + d->a1[i] * c + d->a2[i] * (c * c - s * s);
    const double im = -d->a1[i] * s - d->a2[i] * 2.0 * s * c;
    const double r  = sqrt(re * re + im * im);
    angle += 2.0 * w + 4.0 * rp_atan(im / (re + r));
  }
  return angle / w;
}
