// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "string_filters.h"

#include "elimination.h"
#include "repeatable.h"

#define TOP_HZ          10000.0 // Losses and dispersion are fitted up to here
#define MAX_HAND_NEPERS 1.2     // Per period

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
  elimination_solve(m[0], POINTS, miss, POINTS); // The diagonal dominates

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
