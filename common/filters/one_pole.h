// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// z[n] = p z[n - 1] + c x[n], four frames at a time.
///
/// Frame by frame, each waits for a multiplication and an addition of the one
/// before, and most of the filter's cost is that wait.  Unrolled over four
/// frames it is the same filter,
///
///   z[n] = p^4 z[n - 4] + v[n] + p v[n - 1] + p^2 v[n - 2] + p^3 v[n - 3]
///
/// with v = c x: four frames wait for four others at once.  One by one, frames
/// get the same bits: it does not matter how a block is cut.  |p| is below 1.
/// Real-time safe.

#ifndef COMMON_FILTERS_ONE_POLE_H
#define COMMON_FILTERS_ONE_POLE_H

#include "common/core/dsp.h"
#include "common/core/lanes.h"

/// c and powers of p
typedef struct {
  float c, p, p2, p3, p4;
} one_pole;

/// The last four frames, the latest last
typedef struct {
  f32x4 v, z;
} one_pole_memory;

static inline one_pole
one_pole_make(double p, double c)
{
  return (one_pole){.c  = (float)c,
                    .p  = (float)p,
                    .p2 = (float)(p * p),
                    .p3 = (float)(p * p * p),
                    .p4 = (float)(p * p * p * p)};
}

/// Returns the filter that averages over `tau_s`
static inline one_pole
one_pole_average(double tau_s, double rate_hz)
{
  const double share = one_pole_share(tau_s, rate_hz);
  return one_pole_make(1.0 - share, share);
}

/// Filters the next four frames
static inline f32x4
one_pole_next_four(const one_pole* q, one_pole_memory* m, f32x4 x)
{
  const f32x4 was = m->v;
  const f32x4 v   = q->c * x;

  const f32x4 v1  = __builtin_shufflevector(was, v, 3, 4, 5, 6);
  const f32x4 v2  = __builtin_shufflevector(was, v, 2, 3, 4, 5);
  const f32x4 v3  = __builtin_shufflevector(was, v, 1, 2, 3, 4);
  const f32x4 sum = (v + q->p * v1) + (q->p2 * v2 + q->p3 * v3);
  m->v            = v;
  m->z            = q->p4 * m->z + sum;
  return m->z;
}

/// Filters the next frame
static inline float
one_pole_next(const one_pole* q, one_pole_memory* m, float x)
{
  const f32x4 was = m->v;
  const float v   = q->c * x;
  const float sum = (v + q->p * was[3]) + (q->p2 * was[2] + q->p3 * was[1]);
  const float z   = q->p4 * m->z[0] + sum;
  m->v            = (f32x4){was[1], was[2], was[3], v};
  m->z            = (f32x4){m->z[1], m->z[2], m->z[3], z};
  return z;
}

/// Filters `n` frames; z may be x
static inline void
one_pole_run(const one_pole*  q,
             one_pole_memory* memory,
             const float*     x,
             float*           z,
             uint32_t         n)
{
  one_pole_memory m = *memory;
  uint32_t        i = 0;
  for (; i + 4 <= n; i += 4) {
    f32x4_store(z + i, one_pole_next_four(q, &m, f32x4_load(x + i)));
  }
  for (; i < n; ++i) {
    z[i] = one_pole_next(q, &m, x[i]);
  }
  *memory = m;
}

#endif // COMMON_FILTERS_ONE_POLE_H
