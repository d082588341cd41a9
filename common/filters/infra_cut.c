// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "infra_cut.h"

#include "common/core/fastmath.h"
#include "common/core/lanes.h"
#include "svf.h"

#include <string.h>

// Only functions that are always inlined take vectors: how these would be
// passed does not matter
#pragma GCC diagnostic ignored "-Wpsabi"

// Both pairs of poles and the zeros, relative to the edge (computed: equal
// ripple of 0.03 dB, zeros at 17.5 / 66)
#define LOW_Q_AT  1.0143986
#define LOW_Q     0.5956420
#define HIGH_Q_AT 0.7887747
#define HIGH_Q    2.0024140
#define ZERO_AT   0.2651515

/// A pair of zeros at `zero_hz` and of poles at `f0_hz`, 1 far above (bilinear)
static biquad
notched_high_pass(double zero_hz, double f0_hz, double q, double rate_hz)
{
  const double z    = steady_tan(DSP_PI * zero_hz / rate_hz);
  const double g    = steady_tan(DSP_PI * f0_hz / rate_hz);
  const double norm = 1.0 / (1.0 + g / q + g * g);
  return (biquad){.b0 = norm * (1.0 + z * z),
                  .b1 = -2.0 * norm * (1.0 - z * z),
                  .b2 = norm * (1.0 + z * z),
                  .a1 = -2.0 * norm * (1.0 - g * g),
                  .a2 = norm * (1.0 - g / q + g * g)};
}

static svf_step
step_of(biquad q)
{
  svf f;
  memset(&f, 0, sizeof(f));
  svf_snap(&f, q);
  return f.step;
}

/// One frame of both sections in a row: s = states; returns the output
static double
step_both(const svf_step q[2], double s[4], double x)
{
  for (size_t k = 0; k < 2; ++k) {
    const svf_step* const c  = &q[k];
    double* const         i  = s + 2 * k;
    const double          y  = c->d * x + c->c1 * i[0] + c->c2 * i[1];
    const double          i0 = c->b1 * x + c->a11 * i[0] + c->a12 * i[1];
    i[1]                     = c->b2 * x + c->a21 * i[0] + c->a22 * i[1];
    i[0]                     = i0;
    x                        = y;
  }
  return x;
}

/// Response of a group to one state, or to one frame
static void
respond(const svf_step q[2],
        double         s[4],
        uint32_t       frame,
        double         out[4],
        double         next[4])
{
  for (uint32_t i = 0; i < 4; ++i) {
    out[i] = step_both(q, s, i == frame ? 1.0 : 0.0);
  }
  memcpy(next, s, 4 * sizeof(double));
}

void
infra_cut_init(infra_cut* c, double edge_hz, double rate_hz)
{
  const double   low  = LOW_Q_AT * edge_hz;
  const double   high = HIGH_Q_AT * edge_hz;
  const svf_step q[2] = {
    step_of(eq_high_pass(low, LOW_Q, rate_hz)),
    step_of(notched_high_pass(ZERO_AT * edge_hz, high, HIGH_Q, rate_hz))};
  for (uint32_t k = 0; k < 4; ++k) {
    double state[4] = {0.0};
    double rest[4]  = {0.0};
    state[k]        = 1.0;
    respond(q, state, 4, c->out_by_state[k], c->state_by_state[k]);
    respond(q, rest, k, c->out_by_frame[k], c->state_by_frame[k]);
  }
}

static inline __attribute__((always_inline)) f64x4
load(const double* x)
{
  f64x4 v;
  memcpy(&v, x, sizeof(v));
  return v;
}

static inline __attribute__((always_inline)) f64x4
splat(double x)
{
  return (f64x4){x, x, x, x};
}

/// Sums of four columns.  From +0 on no sum is -0, to which it would matter
/// whether a later frame, whose share is 0, is known already.
static inline __attribute__((always_inline)) f64x4
sum(const double (*column)[4], f64x4 by)
{
  return ((splat(0.0) + load(column[0]) * splat(by[0])) +
          load(column[1]) * splat(by[1])) +
         (load(column[2]) * splat(by[2]) + load(column[3]) * splat(by[3]));
}

static inline __attribute__((always_inline)) f64x4
outputs(const infra_cut* c, f64x4 s, f64x4 x)
{
  return sum(c->out_by_state, s) + sum(c->out_by_frame, x);
}

static inline __attribute__((always_inline)) f64x4
next_states(const infra_cut* c, f64x4 s, f64x4 x)
{
  return sum(c->state_by_state, s) + sum(c->state_by_frame, x);
}

/// Runs up to the end of the group that the last block began, or of the block.
/// Returns the number of frames.
static uint32_t
run_part(const infra_cut*  c,
         infra_cut_memory* m,
         const float*      in,
         float*            out,
         uint32_t          n)
{
  const uint32_t from = m->n;
  const uint32_t part = n < 4 - from ? n : 4 - from;
  for (uint32_t i = 0; i < part; ++i) {
    m->frame[from + i] = (double)in[i];
  }
  const f64x4 s = load(m->state);
  const f64x4 x = load(m->frame);
  const f64x4 y = outputs(c, s, x);
  for (uint32_t i = 0; i < part; ++i) {
    out[i] = (float)y[from + i];
  }
  m->n = from + part;
  if (m->n == 4) {
    const f64x4 next = next_states(c, s, x);
    memcpy(m->state, &next, sizeof(next));
    memset(m->frame, 0, sizeof(m->frame));
    m->n = 0;
  }
  return part;
}

WIDE_CLONES static uint32_t
run_groups(const infra_cut*  c,
           infra_cut_memory* m,
           const float*      in,
           float*            out,
           uint32_t          n)
{
  f64x4    s = load(m->state);
  uint32_t i = 0;
  for (; i + 4 <= n; i += 4) {
    const f64x4 x = __builtin_convertvector(f32x4_load(in + i), f64x4);
    const f64x4 y = outputs(c, s, x);
    s             = next_states(c, s, x);
    f32x4_store(out + i, __builtin_convertvector(y, f32x4));
  }
  memcpy(m->state, &s, sizeof(s));
  return i;
}

void
infra_cut_run(const infra_cut*  c,
              infra_cut_memory* memory,
              const float*      in,
              float*            out,
              uint32_t          n)
{
  uint32_t i = 0;
  if (memory->n) {
    i = run_part(c, memory, in, out, n);
  }
  if (n - i >= 4) {
    i += run_groups(c, memory, in + i, out + i, n - i);
  }
  if (i < n) {
    (void)run_part(c, memory, in + i, out + i, n - i);
  }
}

void
infra_cut_run_by(const infra_cut*  c,
                 infra_cut_memory* memory,
                 const float*      share,
                 float*            x,
                 uint32_t          n)
{
  float y[CONTROL_FRAMES] = {0};
  infra_cut_run(c, memory, x, y, n);
  for (uint32_t i = 0; i < n; ++i) {
    x[i] += share[i] * (y[i] - x[i]);
  }
}
