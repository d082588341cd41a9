// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "string_filters.h"

#include "elimination.h"
#include "repeatable.h"

#include <stdbool.h>
#include <stddef.h>

#define TOP_HZ     10000.0 // Dispersion is designed up to here
#define SMOOTH     0.85    // Abel and Smith's beta: dip of the group delay
#define FIT_HZ     8500.0
#define FIT_POINTS 96U
#define FIT_STEPS  12
#define UNKNOWNS   (2U * MAX_SECTIONS)
#define EDGE       0.01 // Distance of the poles from the edge of stability

// Number of the partial at `f_hz`, as a real number: the inverse of
// f_n = n f0 sqrt(1 + B n^2)
static double
partial_at(double f_hz, double f0_hz, double b)
{
  const double x = f_hz / f0_hz;
  // (sqrt(1 + 4 B x^2) - 1) / 2 B without cancellation
  return x * sqrt(2.0 / (1.0 + sqrt(1.0 + 4.0 * b * x * x)));
}

// One period of phase after the other along the frequency axis
static dispersion_filter
first_guess(double f1_hz, double inharmonicity, uint32_t more, double rate_hz)
{
  const double b     = inharmonicity;
  const double f0_hz = f1_hz / sqrt(1.0 + b);
  const double n_top = partial_at(TOP_HZ, f0_hz, b);

  // The plain delay carries the group delay at the top; the phase left over,
  // in periods, is the number of sections.  `more` let them overlap better.
  const double group_s =
    sqrt(1.0 + b * n_top * n_top) / (f0_hz * (1.0 + 2.0 * b * n_top * n_top));
  dispersion_filter d = {.n = more + (uint32_t)ceil(n_top - group_s * TOP_HZ)};
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

// Where the fit looks: partials of the stiff string, and the delay there
// that the dispersion must have beyond that at the first one
typedef struct {
  uint32_t n;
  double   number[FIT_POINTS], f_hz[FIT_POINTS], more[FIT_POINTS];
  double   f1_hz, rate_hz;
} fit_points;

static fit_points
fit_points_of(double f1_hz, double b, const loss_filter* loss, double rate_hz)
{
  const double f0_hz = f1_hz / sqrt(1.0 + b);
  const double top   = floor(partial_at(FIT_HZ, f0_hz, b));
  const double step  = top > FIT_POINTS ? top / FIT_POINTS : 1.0;
  fit_points   p     = {.f1_hz = f1_hz, .rate_hz = rate_hz};
  double       k     = 2.0;
  while (k <= top && p.n < FIT_POINTS) {
    const double n    = floor(k);
    const double f_hz = n * f0_hz * sqrt(1.0 + b * n * n);
    // n periods of f fill the loop: line, dispersion and losses
    const double all  = rate_hz * (n / f_hz - 1.0 / f1_hz);
    const double lost = loss_filter_delay(loss, f_hz, rate_hz) -
                        loss_filter_delay(loss, f1_hz, rate_hz);
    p.number[p.n] = n;
    p.f_hz[p.n]   = f_hz;
    p.more[p.n++] = all - lost;
    k += step;
  }
  return p;
}

// Sum of squares of what is missing, relative to the period: that is of the
// relative errors of frequency
static double
misfit(const dispersion_filter* d, const fit_points* p, double* miss)
{
  const double at_f1 = dispersion_filter_delay(d, p->f1_hz, p->rate_hz);
  double       sum   = 0.0;
  for (uint32_t i = 0; i < p->n; ++i) {
    const double f_hz  = p->f_hz[i];
    const double delay = dispersion_filter_delay(d, f_hz, p->rate_hz);
    miss[i]            = (p->more[i] - (delay - at_f1)) * p->f1_hz / p->rate_hz;
    sum += miss[i] * miss[i];
  }
  return sum;
}

// Adds `sign` times the derivatives of the delay at `f_hz` to all coefficients,
// a1 and a2 in turn.  Delay is 2 + 2 arg(1 + a1 z^-1 + a2 z^-2) / w.
static void
add_slopes(const dispersion_filter* d,
           const fit_points*        p,
           double                   f_hz,
           double                   sign,
           double*                  row)
{
  const double w  = 2.0 * RP_PI * f_hz / p->rate_hz;
  const double c  = rp_cos(w);
  const double s  = rp_sin(w);
  const double c2 = c * c - s * s;
  const double s2 = 2.0 * s * c;
  const double k  = sign * 2.0 / w * p->f1_hz / p->rate_hz;
  for (uint32_t i = 0; i < d->n; ++i) {
    const double re = 1.0 + d->a1[i] * c + d->a2[i] * c2;
    const double im = -d->a1[i] * s - d->a2[i] * s2;
    const double q  = k / (re * re + im * im);
    row[(size_t)2 * i] += q * (-s * re - c * im);
    row[(size_t)2 * i + 1] += q * (-s2 * re - c2 * im);
  }
}

// One damped Gauss-Newton step from `d`
static dispersion_filter
stepped(const dispersion_filter* d,
        const fit_points*        p,
        const double*            miss,
        double                   damping)
{
  double         m[UNKNOWNS][UNKNOWNS] = {{0.0}};
  double         x[UNKNOWNS]           = {0.0};
  const uint32_t n                     = 2 * d->n;
  for (uint32_t i = 0; i < p->n; ++i) {
    double row[UNKNOWNS] = {0.0};
    add_slopes(d, p, p->f_hz[i], 1.0, row);
    add_slopes(d, p, p->f1_hz, -1.0, row);
    for (uint32_t j = 0; j < n; ++j) {
      for (uint32_t k = 0; k < n; ++k) {
        m[j][k] += row[j] * row[k];
      }
      x[j] += row[j] * miss[i];
    }
  }
  for (uint32_t j = 0; j < n; ++j) {
    m[j][j] += damping * m[j][j] + 1e-18;
  }
  elimination_solve(m[0], UNKNOWNS, x, n); // Positive definite

  dispersion_filter to = *d;
  for (uint32_t i = 0; i < d->n; ++i) {
    to.a1[i] += x[(size_t)2 * i];
    to.a2[i] += x[(size_t)2 * i + 1];
  }
  return to;
}

static bool
is_stable(const dispersion_filter* d)
{
  for (uint32_t i = 0; i < d->n; ++i) {
    if (fabs(d->a2[i]) > 1.0 - EDGE ||
        fabs(d->a1[i]) > 1.0 + d->a2[i] - EDGE * EDGE) {
      return false;
    }
  }
  return true;
}

// Moves `d` to the least misfit nearby, which it returns
static double
refine(dispersion_filter* d, const fit_points* p)
{
  double miss[FIT_POINTS];
  double best    = misfit(d, p, miss);
  double damping = 1e-3;
  for (int k = 0; k < FIT_STEPS; ++k) {
    double                  now_miss[FIT_POINTS];
    const dispersion_filter to = stepped(d, p, miss, damping);
    const bool better = is_stable(&to) && misfit(&to, p, now_miss) < best;
    if (better) {
      *d   = to;
      best = misfit(d, p, miss);
    }
    damping *= better ? 0.2 : 8.0;
  }
  return best;
}

dispersion_filter
dispersion_filter_of(double             f1_hz,
                     double             inharmonicity,
                     const loss_filter* loss,
                     double             rate_hz)
{
  // One section more helps at times, and is in the way at others
  const fit_points  p   = fit_points_of(f1_hz, inharmonicity, loss, rate_hz);
  dispersion_filter one = first_guess(f1_hz, inharmonicity, 1, rate_hz);
  dispersion_filter two = first_guess(f1_hz, inharmonicity, 2, rate_hz);
  return refine(&one, &p) <= refine(&two, &p) ? one : two;
}
