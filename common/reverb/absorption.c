// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "absorption.h"

#include "common/core/solve.h"

double
decay_law_s(const decay_law* law, double f_hz)
{
  // Limit of the shelves below for a gain near 1: a share of
  // 1 / (1 + (f/f0)^2) of the gain in dB is left at f
  const double l = f_hz / law->low_hz;
  const double h = f_hz / law->high_hz;

  const double mid  = 1.0 / law->mid_s;
  const double low  = (1.0 / law->low_s - mid) / (1.0 + l * l);
  const double high = (1.0 / law->high_s - mid) * h * h / (1.0 + h * h);
  return 1.0 / (mid + low + high);
}

// ---------------------------------------------------------------------------
// Correction

// The octaves that must hold, and a little weight for those around them, so
// that they do not run away
enum { POINTS = 10, UNKNOWNS = 5, ROUNDS = 3 };

// The frequency of a shelf that does next to nothing is undetermined, its
// column next to zero: so a shift costs this much, in squares of relative
// errors
#define SHIFT_COST 1e-5

static const double point_hz[POINTS] = {125,  250, 500,  1000, 2000,
                                        4000, 0,   62.5, 8000, HUGE_VAL};
static const double weight[POINTS] = {1, 1, 1, 1, 1, 1, 0.03, 0.03, 0.03, 0.03};

/// The fit of one law at one rate, by point
typedef struct {
  double mid, low, high;      ///< Nepers per neper of a reverberation time
  double warp_low, warp_high; ///< As in absorption_fit
  double x[POINTS];           ///< tan^2(pi f / rate)
  double share[POINTS];       ///< weight / rate of decay
  double rate[POINTS];
  double a[POINTS][UNKNOWNS]; ///< Relative change of the decay by unknown
} fit_frame;

/// Both shelves of a path of `n` nepers, corrected
typedef struct {
  double mid, low, high; ///< Gains; ln of the first
  double kl, kh;         ///< Squares of the warped frequencies
} shelves;

static shelves
shelves_of(const fit_frame* f, const double* by, double n)
{
  return (shelves){.mid  = n * (by[0] - f->mid),
                   .low  = steady_exp(n * (by[1] - f->low)),
                   .high = steady_exp(n * (by[2] - f->high)),
                   .kl   = f->warp_low * f->warp_low * steady_exp(2.0 * by[3]),
                   .kh = f->warp_high * f->warp_high * steady_exp(2.0 * by[4])};
}

/// ln of their gain
static double
gain_at(const shelves* s, double x)
{
  const double above = (x + s->kl * s->low) * s->high * (s->high * x + s->kh);
  const double below = (x + s->kl / s->low) * (x + s->kh * s->high);
  return s->mid + 0.5 * steady_log(above / below);
}

static fit_frame
frame_of(const decay_law* law, double rate_hz)
{
  const double most = 0.45 * rate_hz;
  fit_frame    f    = {
          .mid       = 1.0 / law->mid_s,
          .low       = 1.0 / law->low_s - 1.0 / law->mid_s,
          .high      = 1.0 / law->high_s - 1.0 / law->mid_s,
          .warp_low  = steady_tan(DSP_PI * fmin(law->low_hz, most) / rate_hz),
          .warp_high = steady_tan(DSP_PI * fmin(law->high_hz, most) / rate_hz),
  };
  for (uint32_t j = 0; j < POINTS; ++j) {
    const double t =
      steady_tan(DSP_PI * fmin(point_hz[j], 0.4999 * rate_hz) / rate_hz);
    const double l = t * t / (f.warp_low * f.warp_low);
    const double h = t * t / (f.warp_high * f.warp_high);
    // Limits for a small loss, as in decay_law_s()
    const double low  = 1.0 / (1.0 + l);
    const double high = h / (1.0 + h);
    f.x[j]            = t * t;
    f.rate[j]         = fmax(f.mid + low * f.low + high * f.high, 1e-9);
    f.share[j]        = weight[j] / f.rate[j];

    const double columns[UNKNOWNS] = {1.0, low, high,
                                      -2.0 * f.low * low * (1.0 - low),
                                      2.0 * f.high * high * (1.0 - high)};
    for (uint32_t i = 0; i < UNKNOWNS; ++i) {
      f.a[j][i] = f.share[j] * columns[i];
    }
  }
  return f;
}

/// Factors of the normal equations of the least squares, which are positive
/// definite
typedef struct {
  double m[UNKNOWNS][UNKNOWNS];
} normal;

static normal
normal_of(const fit_frame* f)
{
  normal n = {0};
  for (uint32_t j = 0; j < POINTS; ++j) {
    for (uint32_t i = 0; i < UNKNOWNS; ++i) {
      for (uint32_t k = 0; k < UNKNOWNS; ++k) {
        n.m[i][k] += f->a[j][i] * f->a[j][k];
      }
    }
  }
  for (uint32_t i = 0; i < UNKNOWNS; ++i) {
    n.m[i][i] += 1e-6 * n.m[i][i] + (i < 3 ? 1e-12 : SHIFT_COST);
  }
  solve_factor(n.m[0], UNKNOWNS);
  return n;
}

/// Takes one step towards the law for a path of `n` nepers
static void
step_fit(const fit_frame* f, const normal* equations, double n, double* by)
{
  const shelves s           = shelves_of(f, by, n);
  double        y[UNKNOWNS] = {0};
  for (uint32_t j = 0; j < POINTS; ++j) {
    const double short_of =
      -f->share[j] * (f->rate[j] + gain_at(&s, f->x[j]) / n);
    for (uint32_t i = 0; i < UNKNOWNS; ++i) {
      y[i] += f->a[j][i] * short_of;
    }
  }
  solve_for(equations->m[0], UNKNOWNS, y);
  for (uint32_t i = 0; i < UNKNOWNS; ++i) {
    by[i] += y[i];
  }
}

absorption_fit
absorption_fit_of(const decay_law* law, double rate_hz, double longest_s)
{
  const fit_frame f            = frame_of(law, rate_hz);
  const double    n            = DECAY_NEPERS * longest_s;
  double          by[UNKNOWNS] = {0};

  // Not where there is nothing to correct, or too much
  const double most = n * fmax(fabs(f.low), fabs(f.high));
  const double keep = clampd((1.4 - most) / 0.5, 0.0, 1.0);
  if (most > 1e-6 && keep > 0.0) {
    const normal equations = normal_of(&f);
    for (uint32_t i = 0; i < ROUNDS; ++i) {
      step_fit(&f, &equations, n, by);
    }
  }
  return (absorption_fit){.low        = f.warp_low,
                          .high       = f.warp_high,
                          .longest_s  = longest_s,
                          .mid_rate   = keep * by[0],
                          .low_rate   = keep * by[1],
                          .high_rate  = keep * by[2],
                          .low_shift  = keep * by[3],
                          .high_shift = keep * by[4]};
}

// ---------------------------------------------------------------------------
// Filters

absorption
absorption_of(const decay_law* law, const absorption_fit* fit, double path_s)
{
  // The error of a shelf grows with the square of its loss
  const double n     = DECAY_NEPERS * path_s;
  const double share = path_s / fit->longest_s * (path_s / fit->longest_s);
  const double low   = 1.0 / law->low_s - 1.0 / law->mid_s;
  const double high  = 1.0 / law->high_s - 1.0 / law->mid_s;
  const double mid = steady_exp(n * (share * fit->mid_rate - 1.0 / law->mid_s));

  const double root_gl = steady_exp(0.5 * n * (share * fit->low_rate - low));
  const double root_gh = steady_exp(0.5 * n * (share * fit->high_rate - high));
  const double wl      = fit->low * steady_exp(share * fit->low_shift);
  const double wh      = fit->high * steady_exp(share * fit->high_shift);

  // Low: (s + k r) / (s + k / r), and `mid` with it
  const double lp = wl / root_gl;
  const double lz = wl * root_gl;
  const double ln = 1.0 / (1.0 + lp);
  // High: (g s + k r) / (s + k r), g = r^2
  const double hp = wh * root_gh;
  const double hg = root_gh * root_gh;
  const double hn = 1.0 / (1.0 + hp);

  absorption a = {
    .low_d  = mid * (1.0 + lz) * ln,
    .low_p  = (1.0 - lp) * ln,
    .high_d = (hg + hp) * hn,
    .high_p = (1.0 - hp) * hn,
  };
  // c = b1 + p b0, with b1 as in the bilinear transform
  a.low_c  = mid * (lz - 1.0) * ln + a.low_p * a.low_d;
  a.high_c = (hp - hg) * hn + a.high_p * a.high_d;
  return a;
}

void
loss_set_lane(loss_lanes* l, uint32_t k, const absorption* a, double gain)
{
  l->low_d[k]  = (float)(gain * a->low_d);
  l->low_c[k]  = (float)(gain * a->low_c);
  l->low_p[k]  = (float)a->low_p;
  l->high_d[k] = (float)a->high_d;
  l->high_c[k] = (float)a->high_c;
  l->high_p[k] = (float)a->high_p;
}

bool
loss_step_between(const loss_lanes* from,
                  const loss_lanes* to,
                  uint32_t          frames,
                  loss_lanes*       step)
{
  const f32x4 share = f32x4_splat(1.0F) / (float)frames;

  step->low_d  = share * (to->low_d - from->low_d);
  step->low_c  = share * (to->low_c - from->low_c);
  step->low_p  = share * (to->low_p - from->low_p);
  step->high_d = share * (to->high_d - from->high_d);
  step->high_c = share * (to->high_c - from->high_c);
  step->high_p = share * (to->high_p - from->high_p);

  bool differs = false;
  for (uint32_t k = 0; k < 4; ++k) {
    differs = differs || step->low_d[k] != 0.0f || step->low_c[k] != 0.0f ||
              step->low_p[k] != 0.0f || step->high_d[k] != 0.0f ||
              step->high_c[k] != 0.0f || step->high_p[k] != 0.0f;
  }
  return differs;
}
