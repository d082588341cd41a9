// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "svf.h"

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
/// memory to the next, and those are what the time goes into
static svf_step
step_of_coefs(svf_coefs c)
{
  const double a   = 1.0 / (1.0 + c.g * (c.g + c.k));
  const double ag  = a * c.g;
  const double agg = ag * c.g;
  const double m   = c.m1 + c.g * c.m2; // Of v1, with v2 written out
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

void
svf_push_coefs(svf* f, svf_coefs c)
{
  if (!f->moving && same_coefs(c, f->to)) {
    return;
  }

  bool moving = ramp_push(&f->g, c.g);
  moving      = ramp_push(&f->k, c.k) || moving;
  moving      = ramp_push(&f->m0, c.m0) || moving;
  moving      = ramp_push(&f->m1, c.m1) || moving;
  moving      = ramp_push(&f->m2, c.m2) || moving;
  f->to       = c;
  f->design   = (biquad){0};
  f->moving   = moving;
  if (!moving) {
    f->step = step_of_coefs(c);
  }
}

void
svf_push(svf* f, biquad q)
{
  svf_push_coefs(f, same_design(q, f->design) ? f->to : svf_of_biquad(q));
  f->design = q;
}

static void
run_moving(svf* f, f64x2* x, uint32_t n)
{
  f64x2 i1 = f->i1;
  f64x2 i2 = f->i2;
  for (uint32_t i = 0; i < n; ++i) {
    const double g  = (double)ramp_next(&f->g);
    const double k  = (double)ramp_next(&f->k);
    const double m0 = (double)ramp_next(&f->m0);
    const double m1 = (double)ramp_next(&f->m1);
    const double m2 = (double)ramp_next(&f->m2);
    const double a  = 1.0 / (1.0 + g * (g + k));
    const f64x2  v1 = a * (i1 + g * (x[i] - i2));
    const f64x2  v2 = i2 + g * v1;
    i1              = 2.0 * v1 - i1;
    i2              = 2.0 * v2 - i2;
    x[i]            = m0 * x[i] + m1 * v1 + m2 * v2;
  }
  f->i1 = i1;
  f->i2 = i2;
}

/// One filter with constant coefficients: the channels side by side
static void
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

/// Steps of two filters side by side
typedef struct {
  f64x2 d, c1, c2, b1, a11, a12, b2, a21, a22;
} step_pair;

static inline step_pair
pair_steps(const svf_step* a, const svf_step* b)
{
  return (step_pair){.d   = {a->d, b->d},
                     .c1  = {a->c1, b->c1},
                     .c2  = {a->c2, b->c2},
                     .b1  = {a->b1, b->b1},
                     .a11 = {a->a11, b->a11},
                     .a12 = {a->a12, b->a12},
                     .b2  = {a->b2, b->b2},
                     .a21 = {a->a21, b->a21},
                     .a22 = {a->a22, b->a22}};
}

/// One frame of both; returns what they put out
static inline f64x2
step_two(const step_pair* s, f64x2* i1, f64x2* i2, f64x2 v)
{
  const f64x2 y  = s->d * v + (s->c1 * *i1 + s->c2 * *i2);
  const f64x2 n1 = s->a11 * *i1 + (s->a12 * *i2 + s->b1 * v);
  *i2            = s->a22 * *i2 + (s->a21 * *i1 + s->b2 * v);
  *i1            = n1;
  return y;
}

/// Two filters in series on channel `k`, side by side: the second works one
/// frame behind the first.  A lane does what run_one() does, to the bit.
static void
run_two(svf* f, uint32_t k, f64x2* x, uint32_t n)
{
  const step_pair s  = pair_steps(&f[0].step, &f[1].step);
  f64x2           i1 = {f[0].i1[k], f[1].i1[k]};
  f64x2           i2 = {f[0].i2[k], f[1].i2[k]};

  // The second has nothing to do yet
  f64x2 y = step_two(&s, &i1, &i2, (f64x2){x[0][k], 0.0});
  i1[1]   = f[1].i1[k];
  i2[1]   = f[1].i2[k];
  for (uint32_t i = 1; i < n; ++i) {
    y           = step_two(&s, &i1, &i2, (f64x2){x[i][k], y[0]});
    x[i - 1][k] = y[1];
  }

  // The first is done
  f[0].i1[k]  = i1[0];
  f[0].i2[k]  = i2[0];
  y           = step_two(&s, &i1, &i2, (f64x2){0.0, y[0]});
  x[n - 1][k] = y[1];
  f[1].i1[k]  = i1[1];
  f[1].i2[k]  = i2[1];
}

void
svf_run(svf* f, uint32_t n_filters, f64x2* x, uint32_t n_channels, uint32_t n)
{
  assert(n <= CONTROL_FRAMES);
  for (uint32_t j = 0; j < n_filters;) {
    if (f[j].moving) {
      run_moving(&f[j], x, n);
      j += 1;
    } else if (j + 1 < n_filters && !f[j + 1].moving) {
      for (uint32_t k = 0; k < n_channels; ++k) {
        run_two(&f[j], k, x, n);
      }
      j += 2;
    } else {
      run_one(&f[j], x, n);
      j += 1;
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

void
svf_process(svf*                f,
            const float* const* in,
            float* const*       out,
            uint32_t            n_channels,
            uint32_t            n)
{
  svf_cascade(f, 1, in, out, n_channels, n);
}
