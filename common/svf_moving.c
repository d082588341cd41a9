// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "svf_moving.h"

#include "fastmath.h"
#include "svf_ramps.h"
#include "svf_row.h"

typedef int32_t i32x4 __attribute__((vector_size(16)));

static inline f64x2
first_two(f32x4 x)
{
  return (f64x2){(double)x[0], (double)x[1]};
}

static inline f64x2
last_two(f32x4 x)
{
  return (f64x2){(double)x[2], (double)x[3]};
}

/// One filter, the channels side by side
WIDE_CLONES static void
run_one(svf* f, f64x2* x, uint32_t n)
{
  ramps r  = ramps_of(&f->g, &f->k, &f->m0, &f->m1);
  ramp  m2 = f->m2;
  f64x2 i1 = f->i1;
  f64x2 i2 = f->i2;
  for (uint32_t i = 0; i < n; ++i) {
    const f32x4  c   = ramps_next(&r);
    const f64x2  gk  = first_two(c);
    const f64x2  m01 = last_two(c);
    const double g   = gk[0];
    const double a   = 1.0 / (1.0 + g * (g + gk[1]));
    const f64x2  v1  = a * (i1 + g * (x[i] - i2));
    const f64x2  v2  = i2 + g * v1;
    i1               = 2.0 * v1 - i1;
    i2               = 2.0 * v2 - i2;
    x[i] = m01[0] * x[i] + m01[1] * v1 + (double)ramp_next(&m2) * v2;
  }
  f->i1 = i1;
  f->i2 = i2;
  f->m2 = m2;
  ramps_store(&r, 0, &f->g);
  ramps_store(&r, 1, &f->k);
  ramps_store(&r, 2, &f->m0);
  ramps_store(&r, 3, &f->m1);
}

/// Two filters in series that move, on one channel, side by side in one
/// register: the second works one frame behind the first.  A lane does what
/// run_one() does, to the bit.
typedef struct {
  ramps gk, m01, m2; ///< Coefficients of the first, second, first, second
  f64x2 i1, i2;
  f64x2 y; ///< What both put out last
} moving_pair;

static inline moving_pair
moving_of(const svf* f)
{
  const svf* const a = &f[0];
  const svf* const b = &f[1];
  return (moving_pair){.gk  = ramps_of(&a->g, &b->g, &a->k, &b->k),
                       .m01 = ramps_of(&a->m0, &b->m0, &a->m1, &b->m1),
                       .m2  = ramps_of(&a->m2, &b->m2, &a->m2, &b->m2),
                       .i1  = {a->i1[0], b->i1[0]},
                       .i2  = {a->i2[0], b->i2[0]}};
}

/// A frame in, the frame before it out
static inline double
moving_next(moving_pair* p, double x)
{
  const f64x2 v   = {x, p->y[0]};
  const f32x4 gk  = ramps_next(&p->gk);
  const f32x4 m01 = ramps_next(&p->m01);
  const f32x4 m2  = ramps_next(&p->m2);
  const f64x2 g   = first_two(gk);
  const f64x2 a   = 1.0 / (1.0 + g * (g + last_two(gk)));
  const f64x2 v1  = a * (p->i1 + g * (v - p->i2));
  const f64x2 v2  = p->i2 + g * v1;
  p->i1           = 2.0 * v1 - p->i1;
  p->i2           = 2.0 * v2 - p->i2;
  p->y = first_two(m01) * v + last_two(m01) * v1 + first_two(m2) * v2;
  return p->y[1];
}

/// Filter `lane` has done its last frame
static inline void
moving_store(const moving_pair* p, svf* f, uint32_t lane)
{
  f->i1[0] = p->i1[lane];
  f->i2[0] = p->i2[lane];
  ramps_store(&p->gk, lane, &f->g);
  ramps_store(&p->gk, lane + 2, &f->k);
  ramps_store(&p->m01, lane, &f->m0);
  ramps_store(&p->m01, lane + 2, &f->m1);
  ramps_store(&p->m2, lane, &f->m2);
}

/// The first filter's lanes of `a`, the second's of `b`
static inline f32x4
blend(f32x4 a, f32x4 b)
{
  const i32x4 first = {-1, 0, -1, 0};
  return (f32x4)(((i32x4)a & first) | ((i32x4)b & ~first));
}

static inline void
hold_second(ramps* r, const ramps* before)
{
  r->v = blend(r->v, before->v);
  r->d = blend(r->d, before->d);
}

/// The first frame in: the second filter has nothing to do yet
static inline void
moving_begin(moving_pair* p, double x)
{
  const moving_pair before = *p;
  (void)moving_next(p, x);
  hold_second(&p->gk, &before.gk);
  hold_second(&p->m01, &before.m01);
  hold_second(&p->m2, &before.m2);
  p->i1[1] = before.i1[1];
  p->i2[1] = before.i2[1];
}

/// Two filters that move on one channel
WIDE_CLONES static void
run_two(svf* f, f64x2* x, uint32_t n)
{
  moving_pair p = moving_of(f);
  moving_begin(&p, x[0][0]);
  for (uint32_t i = 1; i < n; ++i) {
    x[i - 1][0] = moving_next(&p, x[i][0]);
  }
  moving_store(&p, &f[0], 0);
  x[n - 1][0] = moving_next(&p, 0.0); // The first filter is done
  moving_store(&p, &f[1], 1);
}

/// How many move from the first on
static uint32_t
count_moving(const svf* f, uint32_t n_filters)
{
  uint32_t j = 0;
  while (j < n_filters && f[j].moving) {
    ++j;
  }
  return j;
}

uint32_t
svf_run_moving(svf*     f,
               uint32_t n_filters,
               f64x2*   x,
               uint32_t n_channels,
               uint32_t n)
{
  const uint32_t n_moving = count_moving(f, n_filters);
  if (n_channels == 1 && n_moving >= 4 && n >= 4) {
    svf_row_run_four(f, x, n);
    return 4;
  }
  if (n_channels == 2 && n_moving >= 2 && n >= 2) {
    svf_row_run_two(f, x, n);
    return 2;
  }
  if (n_channels == 1 && n_moving >= 2) {
    run_two(f, x, n);
    return 2;
  }
  run_one(f, x, n);
  return 1;
}
