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

/// The modes of both channels within a block: those of the first channel, then
/// those of the second, at the cost of one.  With sides = sqrt(2) a (q + a r)
/// the cubic force and its slope are short, and the next one follows from this
/// one's v: frames wait for that only.
typedef struct {
  f64x4 a, aa, twice_a, still, to_sides, per_v;
  f64x4 q, r, sides;
} cone_modes_run;

static inline __attribute__((always_inline)) void
cone_modes_begin(cone_modes_run* run, const cone_modes* m)
{
  const double root_2 = 1.41421356237309504880;

  run->a        = (f64x4){m->a[0], m->a[1], m->a[0], m->a[1]};
  run->q        = (f64x4){m->q[0][0], m->q[0][1], m->q[1][0], m->q[1][1]};
  run->r        = (f64x4){m->r[0][0], m->r[0][1], m->r[1][0], m->r[1][1]};
  run->aa       = run->a * run->a;
  run->twice_a  = 2.0 * run->a;
  run->still    = 1.0 + 2.0 * CONE_MODES_ZETA * run->a;
  run->to_sides = root_2 * run->a;
  run->per_v    = run->to_sides * (4.0 * run->a);
  run->sides    = run->to_sides * (run->q + run->a * run->r);
}

/// Stiffness that a force of p leaves
static inline __attribute__((always_inline)) double
cone_modes_stiffness(float hard, double p)
{
  const double h = CONE_MODES_PUMP * (double)hard * p;
  return 1.0 + clampd(h, -CONE_MODES_MOST, CONE_MODES_MOST);
}

/// Moves the modes by a frame x, whose second channel is the first in mono
static inline __attribute__((always_inline)) void
cone_modes_next(cone_modes_run* run, float hard, const float x[MAX_CHANNELS])
{
  const double half = 0.70710678118654752440; // sqrt(1/2)
  const f64x4  q    = run->q;
  const f64x4  r    = run->r;
  const f64x4  s    = run->sides;

  const double left  = (double)x[0];
  const double right = (double)x[1];
  const double wl    = cone_modes_stiffness(hard, left);
  const double wr    = cone_modes_stiffness(hard, right);
  const f64x4  p     = {left, left, right, right};
  const f64x4  w     = {wl, wl, wr, wr};

  // The middle of the frame: the cubic force is mid * q * (q + q'), where a mid
  // is sides / sqrt(2)
  const f64x4 pulled = r + (CONE_MODES_EPS * p) * run->a;
  const f64x4 v      = ((pulled - (w * run->a) * q) - (half * s) * (q * q)) /
                  ((run->still + w * run->aa) + s * s);
  run->sides = run->to_sides * (q - run->a * r) + run->per_v * v;
  run->q     = q + run->twice_a * v;
  run->r     = 2.0 * v - r;
}

/// Returns what the modes of channel k add to the frame
static inline __attribute__((always_inline)) float
cone_modes_sound(const cone_modes_run* run, uint32_t k)
{
  return (float)(CONE_MODES_GAIN * (run->q[2 * k] + run->q[2 * k + 1]));
}

static inline __attribute__((always_inline)) void
cone_modes_end(cone_modes* m, const cone_modes_run* run)
{
  for (uint32_t k = 0; k < MAX_CHANNELS; ++k) {
    m->q[k] = (f64x2){run->q[2 * k], run->q[2 * k + 1]};
    m->r[k] = (f64x2){run->r[2 * k], run->r[2 * k + 1]};
  }
}

#endif // COMMON_SPEAKER_CONE_MODES_RUN_H
