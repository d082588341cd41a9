// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "svf.h"

#include "common/core/fastmath.h"
#include "svf_moving.h"

#include <assert.h>

svf_coefs
svf_of_biquad(biquad q)
{
  const double p  = 1.0 + q.a1 + q.a2; // Both above 0 in a stable filter
  const double m  = 1.0 - q.a1 + q.a2;
  const double g  = sqrt(p / m);
  const double k  = 2.0 * (1.0 - q.a2) / (g * m);
  const double n0 = (q.b0 + q.b1 + q.b2) / p;
  const double n2 = (q.b0 - q.b1 + q.b2) / m;
  const double n1 = 2.0 * (q.b0 - q.b2) / (g * m);
  return (svf_coefs){
    .g = g, .k = k, .m0 = n2, .m1 = n1 - k * n2, .m2 = n0 - n2};
}

svf_coefs
svf_mix(svf_coefs a, svf_coefs b, double share)
{
  return (svf_coefs){.g  = a.g + share * (b.g - a.g),
                     .k  = a.k + share * (b.k - a.k),
                     .m0 = a.m0 + share * (b.m0 - a.m0),
                     .m1 = a.m1 + share * (b.m1 - a.m1),
                     .m2 = a.m2 + share * (b.m2 - a.m2)};
}

svf_coefs
svf_scale(svf_coefs c, double share)
{
  return (svf_coefs){.g  = c.g,
                     .k  = c.k,
                     .m0 = 1.0 + share * (c.m0 - 1.0),
                     .m1 = share * c.m1,
                     .m2 = share * c.m2};
}

/// v1 = a (i1 + g (x - i2)); v2 = i2 + g v1; i1 = 2 v1 - i1; i2 = 2 v2 - i2,
/// multiplied out: nine products, but only three operations from one frame's
/// memory to the next, and those decide the run time
static svf_step
step_of_coefs(svf_coefs c)
{
  const double a   = 1.0 / (1.0 + c.g * (c.g + c.k));
  const double ag  = a * c.g;
  const double agg = ag * c.g;
  const double m   = c.m1 + c.g * c.m2; // Factor of v1, with v2 written out
  return (svf_step){.d   = c.m0 + m * ag,
                    .c1  = m * a,
                    .c2  = c.m2 - m * ag,
                    .b1  = 2.0 * ag,
                    .a11 = 2.0 * a - 1.0,
                    .a12 = -2.0 * ag,
                    .b2  = 2.0 * agg,
                    .a21 = 2.0 * ag,
                    .a22 = 1.0 - 2.0 * agg};
}

void
svf_reset(svf* f)
{
  f->i1 = f->i2 = (f64x2){0.0, 0.0};
}

void
svf_snap_coefs(svf* f, svf_coefs c)
{
  ramp_snap(&f->g, c.g);
  ramp_snap(&f->k, c.k);
  ramp_snap(&f->m0, c.m0);
  ramp_snap(&f->m1, c.m1);
  ramp_snap(&f->m2, c.m2);
  f->to     = c;
  f->design = (biquad){0};
  f->step   = step_of_coefs(c);
  f->moving = false;
}

void
svf_snap(svf* f, biquad q)
{
  svf_snap_coefs(f, svf_of_biquad(q));
  f->design = q;
}

static bool
same_coefs(svf_coefs a, svf_coefs b)
{
  return a.g == b.g && a.k == b.k && a.m0 == b.m0 && a.m1 == b.m1 &&
         a.m2 == b.m2;
}

static bool
same_design(biquad a, biquad b)
{
  return a.b0 == b.b0 && a.b1 == b.b1 && a.b2 == b.b2 && a.a1 == b.a1 &&
         a.a2 == b.a2;
}

static void
push(svf* f, svf_coefs c, uint32_t lines)
{
  if (!f->moving && same_coefs(c, f->to)) {
    return;
  }

  bool moving = ramp_push_over(&f->g, c.g, lines);
  moving      = ramp_push_over(&f->k, c.k, lines) || moving;
  moving      = ramp_push_over(&f->m0, c.m0, lines) || moving;
  moving      = ramp_push_over(&f->m1, c.m1, lines) || moving;
  moving      = ramp_push_over(&f->m2, c.m2, lines) || moving;
  f->to       = c;
  f->design   = (biquad){0};
  f->moving   = moving;
  if (!moving) {
    f->step = step_of_coefs(c);
  }
}

static void
push_design(svf* f, biquad q, uint32_t lines)
{
  push(f, same_design(q, f->design) ? f->to : svf_of_biquad(q), lines);
  f->design = q;
}

void
svf_push_coefs(svf* f, svf_coefs c)
{
  push(f, c, 1);
}

void
svf_push(svf* f, biquad q)
{
  push_design(f, q, 1);
}

void
svf_push_coefs_slow(svf* f, svf_coefs c)
{
  push(f, c, 2);
}

void
svf_push_slow(svf* f, biquad q)
{
  push_design(f, q, 2);
}

/// Runs one filter with constant coefficients, the channels side by side
WIDE_CLONES static void
run_one(svf* f, f64x2* x, uint32_t n)
{
  const svf_step s  = f->step;
  f64x2          i1 = f->i1;
  f64x2          i2 = f->i2;
  for (uint32_t i = 0; i < n; ++i) {
    const f64x2 v  = x[i];
    const f64x2 n1 = s.a11 * i1 + (s.a12 * i2 + s.b1 * v);
    const f64x2 n2 = s.a22 * i2 + (s.a21 * i1 + s.b2 * v);
    x[i]           = s.d * v + (s.c1 * i1 + s.c2 * i2);
    i1             = n1;
    i2             = n2;
  }
  f->i1 = i1;
  f->i2 = i2;
}

/// Two filters in series on one channel, side by side in one register: the
/// second works one frame behind the first.  A lane does what run_one() does,
/// to the bit.
typedef struct {
  f64x2 d, c1, c2, b1, a11, a12, b2, a21, a22;
  f64x2 i1, i2;
  f64x2 y; ///< The last output of both
} svf_pair;

static inline svf_pair
pair_of(const svf* f, uint32_t k)
{
  const svf_step* a = &f[0].step;
  const svf_step* b = &f[1].step;
  return (svf_pair){.d   = {a->d, b->d},
                    .c1  = {a->c1, b->c1},
                    .c2  = {a->c2, b->c2},
                    .b1  = {a->b1, b->b1},
                    .a11 = {a->a11, b->a11},
                    .a12 = {a->a12, b->a12},
                    .b2  = {a->b2, b->b2},
                    .a21 = {a->a21, b->a21},
                    .a22 = {a->a22, b->a22},
                    .i1  = {f[0].i1[k], f[1].i1[k]},
                    .i2  = {f[0].i2[k], f[1].i2[k]}};
}

/// Takes a frame; returns the output for the one before it
static inline double
pair_next(svf_pair* p, double x)
{
  const f64x2 v  = {x, p->y[0]};
  const f64x2 n1 = p->a11 * p->i1 + (p->a12 * p->i2 + p->b1 * v);
  const f64x2 n2 = p->a22 * p->i2 + (p->a21 * p->i1 + p->b2 * v);
  p->y           = p->d * v + (p->c1 * p->i1 + p->c2 * p->i2);
  p->i1          = n1;
  p->i2          = n2;
  return p->y[1];
}

/// Takes the first frame: the second filter has nothing to do yet
static inline void
pair_begin(svf_pair* p, double x)
{
  const double i1 = p->i1[1];
  const double i2 = p->i2[1];
  pair_next(p, x);
  p->i1[1] = i1;
  p->i2[1] = i2;
}

/// Returns the last frame: the first filter is done
static inline double
pair_end(svf_pair* p, svf* f, uint32_t k)
{
  f[0].i1[k]     = p->i1[0];
  f[0].i2[k]     = p->i2[0];
  const double y = pair_next(p, 0.0);
  f[1].i1[k]     = p->i1[1];
  f[1].i2[k]     = p->i2[1];
  return y;
}

WIDE_CLONES static void
run_two(svf* f, uint32_t k, f64x2* x, uint32_t n)
{
  svf_pair p = pair_of(f, k);
  // NOLINTNEXTLINE(clang-analyzer-core.CallAndMessage): n is 1 at least
  pair_begin(&p, x[0][k]);
  for (uint32_t i = 1; i < n; ++i) {
    x[i - 1][k] = pair_next(&p, x[i][k]);
  }
  x[n - 1][k] = pair_end(&p, f, k);
}

/// Runs two pairs in series, which fill the time that a frame's memory takes to
/// become the next one's.  At least two frames.
WIDE_CLONES static void
run_four(svf* f, uint32_t k, f64x2* x, uint32_t n)
{
  svf_pair p = pair_of(f, k);
  svf_pair q = pair_of(f + 2, k);
  // NOLINTNEXTLINE(clang-analyzer-core.CallAndMessage): n is 1 at least
  pair_begin(&p, x[0][k]);
  pair_begin(&q, pair_next(&p, x[1][k]));
  for (uint32_t i = 2; i < n; ++i) {
    x[i - 2][k] = pair_next(&q, pair_next(&p, x[i][k]));
  }
  x[n - 2][k] = pair_next(&q, pair_end(&p, f, k));
  x[n - 1][k] = pair_end(&q, f + 2, k);
}

/// Returns how many filters stand still before the first that moves
static uint32_t
count_static(const svf* f, uint32_t n_filters)
{
  uint32_t j = 0;
  while (j < n_filters && !f[j].moving) {
    ++j;
  }
  return j;
}

/// Runs one to four filters that stand still; returns how many
static uint32_t
run_static(svf*     f,
           uint32_t n_filters,
           f64x2*   x,
           uint32_t n_channels,
           uint32_t n)
{
  if (n_filters == 1) {
    run_one(f, x, n);
    return 1;
  }
  if (n_filters < 4 || n < 2) {
    for (uint32_t k = 0; k < n_channels; ++k) {
      run_two(f, k, x, n);
    }
    return 2;
  }
  for (uint32_t k = 0; k < n_channels; ++k) {
    run_four(f, k, x, n);
  }
  return 4;
}

void
svf_run(svf* f, uint32_t n_filters, f64x2* x, uint32_t n_channels, uint32_t n)
{
  assert(n >= 1 && n <= CONTROL_FRAMES);
  for (uint32_t j = 0; j < n_filters;) {
    const uint32_t n_static = count_static(f + j, n_filters - j);
    if (n_static == 0) {
      j += svf_run_moving(f + j, n_filters - j, x, n_channels, n);
    } else {
      j += run_static(f + j, n_static, x, n_channels, n);
    }
  }
}

void
svf_load(const float* const* in, f64x2* x, uint32_t n_channels, uint32_t n)
{
  if (n_channels == 1) {
    for (uint32_t i = 0; i < n; ++i) {
      x[i] = (f64x2){(double)in[0][i], 0.0};
    }
  } else {
    for (uint32_t i = 0; i < n; ++i) {
      x[i] = (f64x2){(double)in[0][i], (double)in[1][i]};
    }
  }
}

void
svf_store(const f64x2* x, float* const* out, uint32_t n_channels, uint32_t n)
{
  for (uint32_t k = 0; k < n_channels; ++k) {
    for (uint32_t i = 0; i < n; ++i) {
      out[k][i] = (float)x[i][k];
    }
  }
}

void
svf_cascade(svf*                f,
            uint32_t            n_filters,
            const float* const* in,
            float* const*       out,
            uint32_t            n_channels,
            uint32_t            n)
{
  f64x2 x[CONTROL_FRAMES];
  svf_load(in, x, n_channels, n);
  svf_run(f, n_filters, x, n_channels, n);
  svf_store(x, out, n_channels, n);
}
