// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "tape_record.h"

#include "common/filters/eq.h"

#include "common/core/fastmath.h"

#include <string.h>

// Time constant of the lift, and its limit
#define LIFT_TAU_S 70e-6
#define LIFT_DB    15.0

// Below this rate the shortest delay leaves no time for oversampling
#define OVERSAMPLE_LEAST_HZ 20000.0

static tape_shelf
shelf_of(biquad q)
{
  return (tape_shelf){.b0   = (float)q.b0,
                      .pole = one_pole_make(-q.a1, q.b1 - q.a1 * q.b0)};
}

void
tape_machine_init(tape_machine* m, tape_limits limits, double rate_hz)
{
  const double corner_hz = 1.0 / (2.0 * DSP_PI * LIFT_TAU_S);
  const double middle_hz = corner_hz * db_to_gain(0.5 * LIFT_DB);
  const biquad lift      = eq_high_shelf_1(middle_hz, LIFT_DB, rate_hz);
  m->lift                = shelf_of(lift);
  m->sink                = shelf_of(eq_reciprocal(lift));
  m->factor = rate_hz < OVERSAMPLE_LEAST_HZ ? 1 : oversample_factor(1, rate_hz);
  tape_pass_init(&m->pass, limits, rate_hz);
}

double
tape_machine_latency(const tape_machine* m)
{
  return oversample_latency_frames(m->factor) + 0.5 * (m->pass.n - 1);
}

bool
tape_track_init(const tape_machine* m, tape_track* t)
{
  return oversample_init(&t->over, m->factor);
}

void
tape_track_reset(tape_track* t)
{
  memset(&t->lift, 0, sizeof(t->lift));
  memset(&t->sink, 0, sizeof(t->sink));
  oversample_reset(&t->over);
  memset(t->past, 0, sizeof(t->past));
}

/// y = b0 x + z, z = (b1 - a1 b0) x - a1 z
static void
run_shelf(const tape_shelf* q, one_pole_memory* memory, float* x, uint32_t n)
{
  one_pole_memory m = *memory;
  uint32_t        i = 0;
  for (; i + 4 <= n; i += 4) {
    const f32x4 v   = f32x4_load(x + i);
    const f32x4 was = m.z;
    const f32x4 z   = one_pole_next_four(&q->pole, &m, v);
    const f32x4 y   = q->b0 * v + __builtin_shufflevector(was, z, 3, 4, 5, 6);
    f32x4_store(x + i, y);
  }
  for (; i < n; ++i) {
    const float was = m.z[3];
    const float v   = x[i];
    (void)one_pole_next(&q->pole, &m, v);
    x[i] = q->b0 * v + was;
  }
  *memory = m;
}

WIDE_CLONES static void
saturate(float* x, uint32_t n)
{
  for (uint32_t i = 0; i < n; ++i) {
    x[i] = fast_tanh(x[i]);
  }
}

#define TILE    16
#define N_LANES (TILE / 4)

/// Applies the losses of the pass, with sums of 16 frames in registers
WIDE_CLONES static void
run_pass(const tape_pass* p, float* past, float* x, uint32_t n)
{
  memcpy(past + p->n - 1, x, n * sizeof(float));
  float y[CONTROL_FRAMES];
  for (uint32_t t = 0; t < n; t += TILE) {
    f32x4 sum[N_LANES] = {{0}};
    for (uint32_t k = 0; k < p->n; ++k) {
      const f32x4 tap = f32x4_splat(p->tap[k]);
      for (size_t i = 0; i < N_LANES; ++i) {
        sum[i] += tap * f32x4_load(past + t + k + 4 * i);
      }
    }
    memcpy(y + t, sum, sizeof(sum));
  }
  memcpy(x, y, n * sizeof(float));
  memmove(past, past + n, (p->n - 1) * sizeof(float));
}

void
tape_track_process(const tape_machine* m, tape_track* t, float* x, uint32_t n)
{
  float inner[OVERSAMPLE_MAX_SAMPLES];
  run_shelf(&m->lift, &t->lift, x, n);
  oversample_up(&t->over, x, inner, n);
  saturate(inner, n * m->factor);
  oversample_down(&t->over, inner, x, n);
  run_shelf(&m->sink, &t->sink, x, n);
  run_pass(&m->pass, t->past, x, n);
}
