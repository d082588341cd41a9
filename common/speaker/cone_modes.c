// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "cone_modes_run.h"

#define LOW_HZ  500.0
#define HIGH_HZ 750.0

void
cone_modes_init(cone_modes* m, cone_size size, double rate_hz)
{
  const double a = DSP_PI / (cone_scale(size) * rate_hz);
  m->a           = (f64x2){LOW_HZ * a, HIGH_HZ * a};
  cone_modes_reset(m);
}

void
cone_modes_reset(cone_modes* m)
{
  for (uint32_t k = 0; k < MAX_CHANNELS; ++k) {
    m->q[k] = m->r[k] = (f64x2){0.0, 0.0};
  }
}

// ---------------------------------------------------------------------------
// One channel after the other, to the bit as cone_modes_run.h does both

/// One channel within a block.  With sides = sqrt(2) a (q + a r) the cubic
/// force and its slope are short, and the next one follows from this one's v:
/// frames wait for that only.
typedef struct {
  f64x2 a, aa, twice_a, still, to_sides, per_v;
  f64x2 q, r, sides;
} channel_run;

static inline __attribute__((always_inline)) channel_run
channel_begin(const cone_modes* m, uint32_t k)
{
  const double root_2   = 1.41421356237309504880;
  const f64x2  a        = m->a;
  const f64x2  to_sides = root_2 * a;
  return (channel_run){.a        = a,
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
channel_next(channel_run* run, float hard, float share, float x)
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
channel_end(cone_modes* m, uint32_t k, const channel_run* run)
{
  m->q[k] = run->q;
  m->r[k] = run->r;
}

void
cone_modes_process(cone_modes*   m,
                   const float*  hard,
                   const float*  share,
                   float* const* x,
                   uint32_t      n_channels,
                   uint32_t      n)
{
  for (uint32_t k = 0; k < n_channels; ++k) {
    channel_run run = channel_begin(m, k);
    for (uint32_t i = 0; i < n; ++i) {
      x[k][i] = channel_next(&run, hard[i], share[i], x[k][i]);
    }
    channel_end(m, k, &run);
  }
}
