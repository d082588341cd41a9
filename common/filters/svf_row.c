// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "svf_row.h"

#include "common/core/fastmath.h"
#include "svf_ramps.h"

// Only functions that are always inlined take vectors: how these would be
// passed does not matter
#pragma GCC diagnostic ignored "-Wpsabi"

#define INLINE static inline __attribute__((always_inline))

/// Filters in series that move, side by side in one register, the lanes of each
/// one frame behind those of the one before it: four filters on one channel, or
/// two on both channels.  A lane does what svf_moving.c does with one filter,
/// to the bit.
typedef struct {
  ramps g, k, m0, m1, m2;
  f64x4 i1, i2;
  f64x4 y; ///< The last output of all
} moving_row;

/// Filter of a lane, and its channel
INLINE uint32_t
filter_of(uint32_t lane, uint32_t n_channels)
{
  return lane / n_channels;
}

INLINE moving_row
row_of(const svf* f, uint32_t n_channels)
{
  const svf* const a = &f[0];
  const svf* const b = &f[filter_of(1, n_channels)];
  const svf* const c = &f[filter_of(2, n_channels)];
  const svf* const e = &f[filter_of(3, n_channels)];
  const uint32_t   k = n_channels - 1; // Channel of lanes 1 and 3
  return (moving_row){
    .g  = ramps_of(&a->g, &b->g, &c->g, &e->g),
    .k  = ramps_of(&a->k, &b->k, &c->k, &e->k),
    .m0 = ramps_of(&a->m0, &b->m0, &c->m0, &e->m0),
    .m1 = ramps_of(&a->m1, &b->m1, &c->m1, &e->m1),
    .m2 = ramps_of(&a->m2, &b->m2, &c->m2, &e->m2),
    .i1 = {a->i1[0], b->i1[k], c->i1[0], e->i1[k]},
    .i2 = {a->i2[0], b->i2[k], c->i2[0], e->i2[k]},
  };
}

INLINE f64x4
wide(f32x4 x)
{
  return (f64x4){(double)x[0], (double)x[1], (double)x[2], (double)x[3]};
}

/// Takes a frame into the first filter, the first filter's last output into the
/// second, and so on; the output of the last is in the last lanes of y
INLINE void
row_next(moving_row* p, f64x2 x, uint32_t n_channels)
{
  const f64x4 y = p->y;
  const f64x4 v = n_channels == 1 ? (f64x4){x[0], y[0], y[1], y[2]}
                                  : (f64x4){x[0], x[1], y[0], y[1]};

  const f64x4 g  = wide(ramps_next(&p->g));
  const f64x4 k  = wide(ramps_next(&p->k));
  const f64x4 m0 = wide(ramps_next(&p->m0));
  const f64x4 m1 = wide(ramps_next(&p->m1));
  const f64x4 m2 = wide(ramps_next(&p->m2));
  const f64x4 a  = 1.0 / (1.0 + g * (g + k));
  const f64x4 v1 = a * (p->i1 + g * (v - p->i2));
  const f64x4 v2 = p->i2 + g * v1;
  p->i1          = 2.0 * v1 - p->i1;
  p->i2          = 2.0 * v2 - p->i2;
  p->y           = m0 * v + m1 * v1 + m2 * v2;
}

INLINE void
hold_ramps(ramps* r, const ramps* before, i32x4 held)
{
  r->v = (f32x4)(((i32x4)r->v & ~held) | ((i32x4)before->v & held));
  r->d = (f32x4)(((i32x4)r->d & ~held) | ((i32x4)before->d & held));
}

INLINE void
hold_memory(f64x4* x, const f64x4* before, const i64x4* held)
{
  *x = (f64x4)(((i64x4)*x & ~*held) | ((i64x4)*before & *held));
}

/// Takes a frame that does not reach lanes from `first_held` on, which wait
INLINE void
row_begin(moving_row* p, f64x2 x, uint32_t n_channels, int first_held)
{
  const i64x4 lane   = {0, 1, 2, 3};
  const i64x4 held   = lane >= first_held;
  const i32x4 narrow = __builtin_convertvector(held, i32x4);

  const moving_row before = *p;
  row_next(p, x, n_channels);
  hold_ramps(&p->g, &before.g, narrow);
  hold_ramps(&p->k, &before.k, narrow);
  hold_ramps(&p->m0, &before.m0, narrow);
  hold_ramps(&p->m1, &before.m1, narrow);
  hold_ramps(&p->m2, &before.m2, narrow);
  hold_memory(&p->i1, &before.i1, &held);
  hold_memory(&p->i2, &before.i2, &held);
}

/// Stores filter j, which has done its last frame
INLINE void
row_store(const moving_row* p, svf* f, uint32_t j, uint32_t n_channels)
{
  const uint32_t lane = j * n_channels;
  ramps_store(&p->g, lane, &f[j].g);
  ramps_store(&p->k, lane, &f[j].k);
  ramps_store(&p->m0, lane, &f[j].m0);
  ramps_store(&p->m1, lane, &f[j].m1);
  ramps_store(&p->m2, lane, &f[j].m2);
  for (uint32_t k = 0; k < n_channels; ++k) {
    f[j].i1[k] = p->i1[lane + k];
    f[j].i2[k] = p->i2[lane + k];
  }
}

/// Writes a frame of output
INLINE void
row_out(const moving_row* p, f64x2* x, uint32_t n_channels)
{
  *x = n_channels == 1 ? (f64x2){p->y[3], 0.0} : (f64x2){p->y[2], p->y[3]};
}

/// Runs at least as many frames as filters; n_channels is known to the compiler
INLINE void
run_row(svf* f, f64x2* x, uint32_t n_channels, uint32_t n)
{
  const uint32_t n_filters = 4 / n_channels;
  const uint32_t late      = n_filters - 1; // Frames on their way

  moving_row p = row_of(f, n_channels);
#pragma GCC unroll 3
  for (uint32_t i = 0; i < late; ++i) {
    row_begin(&p, x[i], n_channels, (int)(n_channels * (i + 1)));
  }
  for (uint32_t i = late; i < n; ++i) {
    row_next(&p, x[i], n_channels);
    row_out(&p, &x[i - late], n_channels);
  }
  for (uint32_t i = 0; i < late; ++i) {
    row_store(&p, f, i, n_channels);
    row_next(&p, (f64x2){0.0, 0.0}, n_channels); // Filters up to i are done
    row_out(&p, &x[n - late + i], n_channels);
  }
  row_store(&p, f, late, n_channels);
}

WIDE_CLONES static void
run_four(svf* f, f64x2* x, uint32_t n)
{
  run_row(f, x, 1, n);
}

WIDE_CLONES static void
run_two(svf* f, f64x2* x, uint32_t n)
{
  run_row(f, x, 2, n);
}

void
svf_row_run_four(svf* f, f64x2* x, uint32_t n)
{
  run_four(f, x, n);
}

void
svf_row_run_two(svf* f, f64x2* x, uint32_t n)
{
  run_two(f, x, n);
}
