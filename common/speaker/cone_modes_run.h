// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// The modes frame by frame, in the manner of motor_run.h

#ifndef COMMON_SPEAKER_CONE_MODES_RUN_H
#define COMMON_SPEAKER_CONE_MODES_RUN_H

#include "cone_modes.h"

// h per force, and the force's direct way into the modes
#define CONE_MODES_PUMP 0.5
#define CONE_MODES_EPS  1e-3

// Most that the force may take from or give to the stiffness
#define CONE_MODES_MOST 0.9

// Gain of both modes in the sound
#define CONE_MODES_GAIN 0.075

/// One channel within a block.  With sides = sqrt(2) a (q + a r) the cubic
/// force and its slope are short, and the next one follows from this one's v:
/// frames wait for that only.
typedef struct {
  f64x2 a, aa, twice_a, still, to_sides, per_v;
  f64x2 q, r, sides;
} cone_modes_run;

static inline __attribute__((always_inline)) cone_modes_run
cone_modes_begin(const cone_modes* m, uint32_t k)
{
  const double root_2   = 1.41421356237309504880;
  const f64x2  a        = m->a;
  const f64x2  to_sides = root_2 * a;
  return (cone_modes_run){.a        = a,
                          .aa       = a * a,
                          .twice_a  = 2.0 * a,
                          .still    = 1.0 + 2.0 * CONE_MODES_ZETA * a,
                          .to_sides = to_sides,
                          .per_v    = to_sides * (4.0 * a),
                          .q        = m->q[k],
                          .r        = m->r[k],
                          .sides    = to_sides * (m->q[k] + a * m->r[k])};
}

/// Returns the frame plus the response of the modes
static inline __attribute__((always_inline)) float
cone_modes_next(cone_modes_run* run, float hard, float share, float x)
{
  const double half = 0.70710678118654752440; // sqrt(1/2)
  const f64x2  q    = run->q;
  const f64x2  r    = run->r;
  const f64x2  s    = run->sides;

  const double p = (double)x;
  const double h = CONE_MODES_PUMP * (double)hard * p;
  const double w = 1.0 + clampd(h, -CONE_MODES_MOST, CONE_MODES_MOST);

  // The middle of the frame: the cubic force is mid * q * (q + q'), where a mid
  // is sides / sqrt(2)
  const f64x2 pulled = r + (CONE_MODES_EPS * p) * run->a;
  const f64x2 v      = ((pulled - (w * run->a) * q) - (half * s) * (q * q)) /
                  ((run->still + w * run->aa) + s * s);
  run->sides = run->to_sides * (q - run->a * r) + run->per_v * v;
  run->q     = q + run->twice_a * v;
  run->r     = 2.0 * v - r;
  return x + share * (float)(CONE_MODES_GAIN * (run->q[0] + run->q[1]));
}

static inline __attribute__((always_inline)) void
cone_modes_end(cone_modes* m, uint32_t k, const cone_modes_run* run)
{
  m->q[k] = run->q;
  m->r[k] = run->r;
}

#endif // COMMON_SPEAKER_CONE_MODES_RUN_H
