// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "cabinet.h"

#include <string.h>

// The curve for 12 inch
#define LOWER_HZ    450.0
#define LOWER_DB    (-3.0)
#define LOWER_Q     0.8
#define PRESENCE_HZ 2600.0
#define PRESENCE_DB 6.0
#define PRESENCE_Q  1.2
#define UPPER_HZ    4200.0
#define UPPER_DB    3.0
#define UPPER_Q     2.5
#define LOW_PASS_HZ 5000.0
#define OFF_AXIS_HZ 2200.0

// Low-pass that stands for ways of different lengths around the cabinet
#define REAR_LOW_PASS_HZ 700.0

// k a where it stays: above 1.2 kHz, where a 12 inch cone (a = 0.13 m) meets
// its ring frequency, less and less of it moves as one (computed)
#define PISTON_KA 2.86

enum { LOWER, UPPER, OFF_AXIS, N_FIXED };

static double
effect_of_db(double db)
{
  return db_to_gain(db) - 1.0;
}

static biquad
off_axis_design(const cabinet* c, double off_axis)
{
  const double angle = off_axis * CABINET_MAX_ANGLE * DSP_PI / 180.0;
  return eq_high_shelf(OFF_AXIS_HZ / cone_scale(c->size),
                       cone_piston_db(PISTON_KA * sin(angle)), c->rate_hz);
}

void
cabinet_init(cabinet* c, cone_size size, bool is_open, double rate_hz)
{
  const double s = cone_scale(size);

  c->rate_hz = rate_hz;
  c->size    = size;
  c->is_open = is_open;
  svf_snap(&c->fixed[LOWER], eq_bell(LOWER_HZ / s, LOWER_DB, LOWER_Q, rate_hz));
  svf_snap(&c->fixed[UPPER], eq_bell(UPPER_HZ / s, UPPER_DB, UPPER_Q, rate_hz));

  svf f = {0};
  svf_snap(&f, eq_bell(PRESENCE_HZ / s, PRESENCE_DB, PRESENCE_Q, rate_hz));
  c->presence = f.step;

  const double around_m = CABINET_AROUND_M * s;
  c->rear_frames        = (float)(around_m / SPEED_OF_SOUND * rate_hz);
  c->rear_gain          = (float)(CABINET_MIC_M / (CABINET_MIC_M + around_m));
  c->rear_share =
    (float)one_pole_share(1.0 / (2.0 * DSP_PI * REAR_LOW_PASS_HZ), rate_hz);
  for (uint32_t k = 0; k < MAX_CHANNELS; ++k) {
    delay_init(&c->around[k], c->line[k], CABINET_LINE);
  }

  cabinet_set_moves(c, 0.0, 0.0);
  cabinet_snap(c, 0.0, 0.0);
  cabinet_reset(c);
}

void
cabinet_reset(cabinet* c)
{
  for (int i = 0; i < N_FIXED; ++i) {
    svf_reset(&c->fixed[i]);
  }
  memset(c->memory, 0, sizeof(c->memory));
  for (uint32_t k = 0; k < MAX_CHANNELS; ++k) {
    c->rear[k] = 0.0F;
    delay_reset(&c->around[k]);
  }
}

void
cabinet_set_moves(cabinet* c, double lift_db, double fall_oct)
{
  const double f0_hz = LOW_PASS_HZ / cone_scale(c->size);

  c->lift_db = lift_db;
  f64x2 at[3][CABINET_COEFS]; // Positions 0, 1/2, 1
  for (int j = 0; j < 3; ++j) {
    const double f = f0_hz * exp2(-0.5 * fall_oct * j);
    const biquad a = eq_low_pass(f, eq_butterworth_q(4, 0), c->rate_hz);
    const biquad b = eq_low_pass(f, eq_butterworth_q(4, 1), c->rate_hz);
    at[j][0]       = (f64x2){a.b0, b.b0};
    at[j][1]       = (f64x2){a.b1, b.b1};
    at[j][2]       = (f64x2){a.a1, b.a1};
    at[j][3]       = (f64x2){a.a2, b.a2};
  }
  for (int i = 0; i < CABINET_COEFS; ++i) {
    c->square[i][0] = at[0][i];
    c->square[i][1] = 4.0 * at[1][i] - 3.0 * at[0][i] - at[2][i];
    c->square[i][2] = 2.0 * (at[2][i] - 2.0 * at[1][i] + at[0][i]);
  }
}

/// What to be at on the next grid line
static void
aim(cabinet* c, double position)
{
  c->share_to = effect_of_db(PRESENCE_DB + c->lift_db * position) /
                effect_of_db(PRESENCE_DB);
  for (int i = 0; i < CABINET_COEFS; ++i) {
    const f64x2* const square = c->square[i];
    c->to[i] = square[0] + position * (square[1] + position * square[2]);
  }
}

/// End the ramps where they were bound for, free of rounding
static void
settle(cabinet* c)
{
  c->share      = c->share_to;
  c->share_step = 0.0;
  for (int i = 0; i < CABINET_COEFS; ++i) {
    c->now[i]  = c->to[i];
    c->step[i] = (f64x2){0.0, 0.0};
  }
}

void
cabinet_snap(cabinet* c, double position, double off_axis)
{
  c->off_axis = off_axis;
  svf_snap(&c->fixed[OFF_AXIS], off_axis_design(c, off_axis));
  aim(c, position);
  settle(c);
}

void
cabinet_push(cabinet* c, double position, double off_axis)
{
  if (off_axis != c->off_axis || c->fixed[OFF_AXIS].moving) {
    svf_push(&c->fixed[OFF_AXIS], off_axis_design(c, off_axis));
    c->off_axis = off_axis;
  }
  settle(c);
  aim(c, position);
  c->share_step = (c->share_to - c->share) / CONTROL_FRAMES;
  for (int i = 0; i < CABINET_COEFS; ++i) {
    c->step[i] = (c->to[i] - c->now[i]) / (double)CONTROL_FRAMES;
  }
}

/// The presence bell; share: of its effect, and what a frame adds
static void
run_presence(const svf_step* p,
             double*         memory,
             double          share,
             double          share_step,
             double*         x,
             uint32_t        n)
{
  const double d  = p->d - 1.0;
  double       m0 = memory[0];
  double       m1 = memory[1];
  for (uint32_t i = 0; i < n; ++i) {
    const double v      = x[i];
    const double effect = d * v + (p->c1 * m0 + p->c2 * m1);
    const double next   = p->a11 * m0 + (p->a12 * m1 + p->b1 * v);
    m1                  = p->a22 * m1 + (p->a21 * m0 + p->b2 * v);
    m0                  = next;
    x[i]                = v + share * effect;
    share += share_step;
  }
  memory[0] = m0;
  memory[1] = m1;
}

/// One frame of both low-passes, in transposed direct form II
static inline f64x2
step_low_pass(const f64x2* c, f64x2* m, f64x2 x)
{
  const f64x2 y = c[0] * x + m[0];
  m[0]          = (c[1] * x + m[1]) - c[2] * y;
  m[1]          = (f64x2){0.0, 0.0} - c[3] * y;
  return y;
}

/// The low-passes in series, side by side: the second works one frame behind
/// the first.  What is idle at either end keeps its memory and coefficients.
static void
run_low_pass(const cabinet* c, f64x2* memory, double* x, uint32_t n)
{
  f64x2 now[CABINET_COEFS];
  f64x2 step[CABINET_COEFS];
  f64x2 m[2] = {memory[0], memory[1]};
  memcpy(now, c->now, sizeof(now));
  memcpy(step, c->step, sizeof(step));

  f64x2 y = step_low_pass(now, m, (f64x2){x[0], 0.0});
  m[0][1] = memory[0][1];
  m[1][1] = memory[1][1];
  for (int j = 0; j < CABINET_COEFS; ++j) {
    now[j][0] += step[j][0];
  }
  for (uint32_t i = 1; i < n; ++i) {
    y        = step_low_pass(now, m, (f64x2){x[i], y[0]});
    x[i - 1] = y[1];
    for (int j = 0; j < CABINET_COEFS; ++j) {
      now[j] += step[j];
    }
  }
  memory[0][0] = m[0][0];
  memory[1][0] = m[1][0];
  y            = step_low_pass(now, m, (f64x2){0.0, y[0]});
  x[n - 1]     = y[1];
  memory[0][1] = m[0][1];
  memory[1][1] = m[1][1];
}

/// n frames on with the ramps, as the loops above count them
static void
advance(cabinet* c, uint32_t n)
{
  for (uint32_t i = 0; i < n; ++i) {
    c->share += c->share_step;
    for (int j = 0; j < CABINET_COEFS; ++j) {
      c->now[j] += c->step[j];
    }
  }
}

/// Take the wave from the rear off channel k
static void
run_rear(cabinet* c, uint32_t k, float* x, uint32_t n)
{
  delay* const   d     = &c->around[k];
  const uint32_t whole = (uint32_t)c->rear_frames;
  const float    part  = c->rear_frames - (float)whole;

  float late[CONTROL_FRAMES];
  delay_process(d, whole, x, late, n);
  float y = c->rear[k];
  for (uint32_t i = 0; i < n; ++i) {
    const float later = delay_tap(d, whole + 1U, i, n);
    y += c->rear_share * (late[i] + part * (later - late[i]) - y);
    x[i] -= c->rear_gain * y;
  }
  c->rear[k] = y;
}

void
cabinet_process(cabinet*            c,
                const float* const* in,
                float* const*       out,
                uint32_t            n_channels,
                uint32_t            n)
{
  f64x2 x[CONTROL_FRAMES];
  svf_load(in, x, n_channels, n);
  svf_run(c->fixed, N_FIXED, x, n_channels, n);
  for (uint32_t k = 0; k < n_channels; ++k) {
    cabinet_memory* const m = &c->memory[k];
    double                line[CONTROL_FRAMES];
    for (uint32_t i = 0; i < n; ++i) {
      line[i] = x[i][k];
    }
    run_presence(&c->presence, m->bell, c->share, c->share_step, line, n);
    run_low_pass(c, m->low_pass, line, n);
    for (uint32_t i = 0; i < n; ++i) {
      out[k][i] = (float)line[i];
    }
    if (c->is_open) {
      run_rear(c, k, out[k], n);
    }
  }
  advance(c, n);
}
