// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Moving a control without a click.
///
/// Two parts.  A `glide` follows a control value on the control grid
/// (CONTROL_FRAMES): three one-pole smoothers in series, so that value, slope
/// and curvature start from where they are whatever the control does.  A `ramp`
/// turns the values derived from it (a gain, a filter coefficient), one per
/// grid line, into one per frame: a quadratic B-spline through the last three,
/// which has a continuous slope.  A step of linear gain by 1 over a glide of
/// 5 ms leaves less than -100 dB above 4 kHz; a plain one-pole leaves -46 dB.
///
/// Glide in the unit the ear works in (dB, log2 Hz); ramp the coefficient.
/// Once settled both are exact, and `moving` is false: the cheap path is open.

#ifndef COMMON_CORE_GLIDE_H
#define COMMON_CORE_GLIDE_H

#include "dsp.h"

/// Time constant of each of the three smoothers
#define GLIDE_TAU_S 0.005

/// A control on its way.  Read `y` and `moving`.
typedef struct {
  double target;
  double y1, y2, y; ///< The three smoothers; the last is the value now
  bool   moving;    ///< False: y == target exactly, now and on the last line
} glide;

/// Returns the share per grid line, for glide_next()
static inline double
glide_share(double rate_hz)
{
  return one_pole_share(GLIDE_TAU_S, rate_hz / CONTROL_FRAMES);
}

static inline void
glide_set(glide* g, double target)
{
  if (target != g->target) {
    g->target = target;
    g->moving = true;
  }
}

/// Jumps to the target
static inline void
glide_snap(glide* g)
{
  g->y1 = g->y2 = g->y = g->target;
  g->moving            = false;
}

/// Moves on by one grid line; returns the value there
static inline double
glide_next(glide* g, double share)
{
  if (!g->moving) {
    return g->y;
  }
  g->y1 += share * (g->target - g->y1);
  g->y2 += share * (g->y1 - g->y2);
  g->y += share * (g->y2 - g->y);
  const double near = 1e-7 * (1.0 + fabs(g->target));
  if (fabs(g->target - g->y) < near && fabs(g->target - g->y1) < near) {
    glide_snap(g);
  }
  return g->y;
}

/// A quadratic B-spline on its way: value of the coming frame, first and second
/// difference
typedef struct {
  double v, d, dd;
} ramp_spline;

/// Returns the spline of the last two values pushed and the one to go to,
/// `lines` grid lines apart
static inline ramp_spline
ramp_spline_of(double p0, double p1, double p, uint32_t lines)
{
  const double h   = lines * CONTROL_FRAMES;
  const double s0  = (p1 - p0) / h; // Slope at both ends
  const double s1  = (p - p1) / h;
  const double acc = (s1 - s0) / h;

  // Forward differences of (p0 + p1) / 2 + s0 t + acc t^2 / 2
  return (ramp_spline){0.5 * (p0 + p1), s0 + 0.5 * acc, acc};
}

/// One coefficient per frame.  Zeroed state is a steady 0.
typedef struct {
  float  v, d, dd; ///< Value of the coming frame, first and second difference
  double p0, p1;   ///< The last two values pushed
  bool   moving;   ///< False: v for good, until the next push
} ramp;

/// Jumps to `p` and stays
static inline void
ramp_snap(ramp* r, double p)
{
  r->p0 = r->p1 = p;
  r->v          = (float)p;
  r->d = r->dd = 0;
  r->moving    = false;
}

/// Aims for `p` at a grid line, `lines` lines after the last push and before
/// the next.  Returns `moving`: true until the third push of the same value.
static inline bool
ramp_push_over(ramp* r, double p, uint32_t lines)
{
  const ramp_spline s = ramp_spline_of(r->p0, r->p1, p, lines);

  r->v      = (float)s.v;
  r->d      = (float)s.d;
  r->dd     = (float)s.dd;
  r->moving = r->p1 != r->p0 || p != r->p1;
  r->p0     = r->p1;
  r->p1     = p;
  return r->moving;
}

/// Does the same, with a push on every line
static inline bool
ramp_push(ramp* r, double p)
{
  return ramp_push_over(r, p, 1);
}

/// Returns true if the ramp stands at `p`
static inline bool
ramp_rests_at(const ramp* r, float p)
{
  return !r->moving && r->v == p;
}

/// Returns the value of this frame; steps to the next
static inline float
ramp_next(ramp* r)
{
  const float v = r->v;
  r->v += r->d;
  r->d += r->dd;
  return v;
}

/// Writes the values of `n` frames
static inline void
ramp_values(ramp* r, float* values, uint32_t n)
{
  ramp at = *r; // Local: `values` could be part of it
  if (!at.moving) {
    for (uint32_t i = 0; i < n; ++i) {
      values[i] = at.v;
    }
    return;
  }
  for (uint32_t i = 0; i < n; ++i) {
    values[i] = ramp_next(&at);
  }
  *r = at;
}

#endif // COMMON_CORE_GLIDE_H
