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

static double
effect_of_db(double db)
{
  return db_to_gain(db) - 1.0;
}

/// a + share * b, coefficient by coefficient
static inline biquad
add_biquad(biquad a, double share, biquad b)
{
  return (biquad){.b0 = a.b0 + share * b.b0,
                  .b1 = a.b1 + share * b.b1,
                  .b2 = a.b2 + share * b.b2,
                  .a1 = a.a1 + share * b.a1,
                  .a2 = a.a2 + share * b.a2};
}

/// What the section adds to the signal, scaled: 1 + share (H - 1)
static biquad
scale_effect(biquad q, double share)
{
  q.b0 = 1.0 + share * (q.b0 - 1.0);
  q.b1 = q.a1 + share * (q.b1 - q.a1);
  q.b2 = q.a2 + share * (q.b2 - q.a2);
  return q;
}

void
cabinet_init(cabinet* c, cone_size size, bool is_open, double rate_hz)
{
  const double s = cone_scale(size);

  c->rate_hz  = rate_hz;
  c->size     = size;
  c->is_open  = is_open;
  c->presence = eq_bell(PRESENCE_HZ / s, PRESENCE_DB, PRESENCE_Q, rate_hz);
  c->to[CABINET_LOWER] = eq_bell(LOWER_HZ / s, LOWER_DB, LOWER_Q, rate_hz);
  c->to[CABINET_UPPER] = eq_bell(UPPER_HZ / s, UPPER_DB, UPPER_Q, rate_hz);

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
  const biquad zero  = {0};

  c->lift_db = lift_db;
  for (uint32_t i = 0; i < 2; ++i) {
    const double q = eq_butterworth_q(4, i);
    biquad       at[3];
    for (int j = 0; j < 3; ++j) {
      at[j] = eq_low_pass(f0_hz * exp2(-0.5 * fall_oct * j), q, c->rate_hz);
    }
    const biquad first  = add_biquad(at[1], -1.0, at[0]);
    const biquad whole  = add_biquad(at[2], -1.0, at[0]);
    const biquad second = add_biquad(whole, -2.0, first);
    c->square[i][0]     = at[0];
    c->square[i][1]     = add_biquad(whole, -2.0, second);
    c->square[i][2]     = add_biquad(zero, 2.0, second);
  }
}

static void
aim_microphone(cabinet* c, double off_axis)
{
  const double angle = off_axis * CABINET_MAX_ANGLE * DSP_PI / 180.0;
  c->off_axis        = off_axis;
  c->to[CABINET_MICROPHONE] =
    eq_high_shelf(OFF_AXIS_HZ / cone_scale(c->size),
                  cone_piston_db(PISTON_KA * sin(angle)),
                  c->rate_hz);
}

/// What to be at on the next grid line
static void
aim(cabinet* c, double position)
{
  const double share = effect_of_db(PRESENCE_DB + c->lift_db * position) /
                       effect_of_db(PRESENCE_DB);
  c->to[CABINET_PRESENCE] = scale_effect(c->presence, share);
  for (int i = 0; i < 2; ++i) {
    const biquad* const square    = c->square[i];
    c->to[CABINET_LOW_PASS_1 + i] = add_biquad(
      square[0], position, add_biquad(square[1], position, square[2]));
  }
}

void
cabinet_snap(cabinet* c, double position, double off_axis)
{
  aim_microphone(c, off_axis);
  aim(c, position);
  memcpy(c->now, c->to, sizeof(c->now));
  memset(c->step, 0, sizeof(c->step));
}

void
cabinet_push(cabinet* c, double position, double off_axis)
{
  memcpy(c->now, c->to, sizeof(c->now)); // Free of the ramp's rounding
  if (off_axis != c->off_axis) {
    aim_microphone(c, off_axis);
  }
  aim(c, position);
  for (int i = CABINET_MICROPHONE; i < CABINET_SECTIONS; ++i) {
    const biquad zero = {0};
    const biquad way  = add_biquad(c->to[i], -1.0, c->now[i]);
    c->step[i]        = add_biquad(zero, 1.0 / CONTROL_FRAMES, way);
  }
}

/// One frame of a section
static inline __attribute__((always_inline)) f64x2
run_section(const biquad* q, f64x2* m, f64x2 x)
{
  const f64x2 y = q->b0 * x + m[0];
  m[0]          = (q->b1 * x + m[1]) - q->a1 * y;
  m[1]          = q->b2 * x - q->a2 * y;
  return y;
}

/// One frame of a low-pass, which has no b2
static inline __attribute__((always_inline)) f64x2
run_low_pass(const biquad* q, f64x2* m, f64x2 x)
{
  const f64x2 y = q->b0 * x + m[0];
  m[0]          = (q->b1 * x + m[1]) - q->a1 * y;
  m[1]          = (q->a2 * -1.0) * y;
  return y;
}

/// All sections in one loop: the machine works at several at a time
static void
run_sections(cabinet* c, f64x2* x, uint32_t n)
{
  biquad now[CABINET_SECTIONS];
  biquad step[CABINET_SECTIONS];
  f64x2  m[CABINET_SECTIONS][2];
  memcpy(now, c->now, sizeof(now));
  memcpy(step, c->step, sizeof(step));
  memcpy(m, c->memory, sizeof(m));
  for (uint32_t i = 0; i < n; ++i) {
    f64x2 y = x[i];
    for (int k = CABINET_LOWER; k <= CABINET_PRESENCE; ++k) {
      y = run_section(&now[k], m[k], y);
    }
    for (int k = CABINET_LOW_PASS_1; k <= CABINET_LOW_PASS_2; ++k) {
      y = run_low_pass(&now[k], m[k], y);
    }
    x[i] = y;
    for (int k = CABINET_MICROPHONE; k < CABINET_SECTIONS; ++k) {
      now[k] = add_biquad(now[k], 1.0, step[k]);
    }
  }
  memcpy(c->now, now, sizeof(now));
  memcpy(c->memory, m, sizeof(m));
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
  run_sections(c, x, n);
  svf_store(x, out, n_channels, n);
  for (uint32_t k = 0; k < n_channels && c->is_open; ++k) {
    run_rear(c, k, out[k], n);
  }
}
