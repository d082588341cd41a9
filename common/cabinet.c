// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "cabinet.h"

#include "fastmath.h"

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

/// The low-pass over how far it falls
static void
design_low_pass(cabinet* c)
{
  const double f0_hz = LOW_PASS_HZ / cone_scale(c->size);
  for (uint32_t i = 0; i < NEWTON_PLACES; ++i) {
    const double fall_oct = newton_place(i, CABINET_MAX_FALL_OCT);
    double*      to       = c->fallen[i];
    for (uint32_t k = 0; k < 2; ++k) {
      const biquad q = eq_low_pass(f0_hz * exp2(-fall_oct),
                                   eq_butterworth_q(4, k), c->rate_hz);
      *to++          = q.b0;
      *to++          = q.b1;
      *to++          = q.a1;
      *to++          = q.a2;
    }
  }
  newton_differ(c->fallen[0], CABINET_FALLING, CABINET_MAX_FALL_OCT);
}

void
cabinet_init(cabinet* c, cone_size size, bool is_open, double rate_hz)
{
  const double s = cone_scale(size);

  c->rate_hz           = rate_hz;
  c->size              = size;
  c->is_open           = is_open;
  c->to[CABINET_LOWER] = eq_bell(LOWER_HZ / s, LOWER_DB, LOWER_Q, rate_hz);
  c->to[CABINET_UPPER] = eq_bell(UPPER_HZ / s, UPPER_DB, UPPER_Q, rate_hz);
  c->to[CABINET_PRESENCE] =
    eq_bell(PRESENCE_HZ / s, PRESENCE_DB, PRESENCE_Q, rate_hz);

  const double around_m = CABINET_AROUND_M * s;
  c->rear_frames        = (float)(around_m / SPEED_OF_SOUND * rate_hz);
  c->rear_gain          = (float)(CABINET_MIC_M / (CABINET_MIC_M + around_m));
  c->rear_share =
    (float)one_pole_share(1.0 / (2.0 * DSP_PI * REAR_LOW_PASS_HZ), rate_hz);
  for (uint32_t k = 0; k < MAX_CHANNELS; ++k) {
    delay_init(&c->around[k], c->line[k], CABINET_LINE);
  }

  design_low_pass(c);
  cabinet_snap(c, &(cabinet_line){0});
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

static void
aim_microphone(cabinet* c, double off_axis)
{
  const double angle = off_axis * CABINET_MAX_ANGLE * DSP_PI / 180.0;
  c->off_axis        = off_axis;
  c->to[CABINET_MICROPHONE] =
    eq_high_shelf(OFF_AXIS_HZ / cone_scale(c->size),
                  cone_piston_db(PISTON_KA * sin(angle)), c->rate_hz);
}

/// What to be at on the next grid line
static void
aim(cabinet* c, const cabinet_line* line)
{
  c->share_to =
    effect_of_db(PRESENCE_DB + line->lift_db) / effect_of_db(PRESENCE_DB);

  double q[CABINET_FALLING];
  newton_value(c->fallen[0], CABINET_FALLING, CABINET_MAX_FALL_OCT,
               line->fall_oct, q);
  for (int k = 0; k < 2; ++k) {
    c->to[CABINET_LOW_PASS_1 + k] = (biquad){.b0 = q[4 * k],
                                             .b1 = q[4 * k + 1],
                                             .a1 = q[4 * k + 2],
                                             .a2 = q[4 * k + 3]};
  }
}

/// Be where the ramps were bound for, free of their rounding
static void
settle(cabinet* c)
{
  memcpy(c->now, c->to, sizeof(c->now));
  c->share            = c->share_to;
  c->share_step       = 0.0;
  c->microphone_moves = false;
  memset(c->step, 0, sizeof(c->step));
}

void
cabinet_snap(cabinet* c, const cabinet_line* line)
{
  aim_microphone(c, line->off_axis);
  aim(c, line);
  settle(c);
}

void
cabinet_push(cabinet* c, const cabinet_line* line)
{
  const biquad zero  = {0};
  const double share = 1.0 / CONTROL_FRAMES;

  settle(c);
  c->microphone_moves = line->off_axis != c->off_axis;
  if (c->microphone_moves) {
    aim_microphone(c, line->off_axis);
  }
  aim(c, line);
  c->share_step = share * (c->share_to - c->share);
  for (int i = CABINET_MICROPHONE; i < CABINET_SECTIONS; ++i) {
    const biquad way = add_biquad(c->to[i], -1.0, c->now[i]);
    c->step[i]       = add_biquad(zero, share, way);
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

/// The same without b2
static inline __attribute__((always_inline)) f64x2
run_low_pass(const biquad* q, f64x2* m, f64x2 x)
{
  const f64x2 y = q->b0 * x + m[0];
  m[0]          = (q->b1 * x + m[1]) - q->a1 * y;
  m[1]          = -q->a2 * y;
  return y;
}

/// Coefficients of a low-pass one frame on
static inline __attribute__((always_inline)) void
step_low_pass(biquad* q, const biquad* step)
{
  q->b0 += step->b0;
  q->b1 += step->b1;
  q->a1 += step->a1;
  q->a2 += step->a2;
}

/// All sections in one loop: the machine works at several at a time
WIDE_CLONES static void
run_sections(cabinet* c, f64x2* x, bool microphone_moves, uint32_t n)
{
  const biquad lower      = c->now[CABINET_LOWER];
  const biquad upper      = c->now[CABINET_UPPER];
  const biquad presence   = c->now[CABINET_PRESENCE];
  biquad       microphone = c->now[CABINET_MICROPHONE];
  biquad       first      = c->now[CABINET_LOW_PASS_1];
  biquad       second     = c->now[CABINET_LOW_PASS_2];
  double       share      = c->share;
  f64x2        m[CABINET_SECTIONS][2];
  memcpy(m, c->memory, sizeof(m));
  for (uint32_t i = 0; i < n; ++i) {
    f64x2 y = run_section(&lower, m[CABINET_LOWER], x[i]);
    y       = run_section(&upper, m[CABINET_UPPER], y);
    y       = run_section(&microphone, m[CABINET_MICROPHONE], y);
    y += share * (run_section(&presence, m[CABINET_PRESENCE], y) - y);
    y    = run_low_pass(&first, m[CABINET_LOW_PASS_1], y);
    x[i] = run_low_pass(&second, m[CABINET_LOW_PASS_2], y);

    share += c->share_step;
    step_low_pass(&first, &c->step[CABINET_LOW_PASS_1]);
    step_low_pass(&second, &c->step[CABINET_LOW_PASS_2]);
    if (microphone_moves) {
      microphone = add_biquad(microphone, 1.0, c->step[CABINET_MICROPHONE]);
    }
  }
  memcpy(c->memory, m, sizeof(m));
  c->now[CABINET_MICROPHONE] = microphone;
  c->now[CABINET_LOW_PASS_1] = first;
  c->now[CABINET_LOW_PASS_2] = second;
  c->share                   = share;
}

// ---------------------------------------------------------------------------
// One channel alone: two sections that follow each other work side by side in
// one register, the second one frame behind the first.  A lane does what
// run_section() does, to the bit.

typedef struct {
  f64x2 b0, b1, b2, a1, a2;
} biquad_pair;

static inline biquad_pair
pair_of(const biquad* q)
{
  return (biquad_pair){.b0 = {q[0].b0, q[1].b0},
                       .b1 = {q[0].b1, q[1].b1},
                       .b2 = {q[0].b2, q[1].b2},
                       .a1 = {q[0].a1, q[1].a1},
                       .a2 = {q[0].a2, q[1].a2}};
}

/// A frame on, in the lanes where `lanes` is 1
static inline __attribute__((always_inline)) void
step_pair(biquad_pair* q, const biquad_pair* step, f64x2 lanes)
{
  q->b0 += lanes * step->b0;
  q->b1 += lanes * step->b1;
  q->a1 += lanes * step->a1;
  q->a2 += lanes * step->a2;
}

static inline __attribute__((always_inline)) f64x2
run_pair_once(const biquad_pair* q, f64x2* m, bool low_pass, f64x2 x)
{
  const f64x2 y = q->b0 * x + m[0];
  m[0]          = (q->b1 * x + m[1]) - q->a1 * y;
  m[1]          = low_pass ? -q->a2 * y : q->b2 * x - q->a2 * y;
  return y;
}

/// Sections `at` and `at + 1`.  `presence`: of the second's effect, take the
/// share that is wanted; `low_pass`: both are, and move.
static inline __attribute__((always_inline)) void
run_pair(cabinet* c,
         int      at,
         bool     presence,
         bool     low_pass,
         double*  x,
         uint32_t n)
{
  const biquad_pair step   = pair_of(&c->step[at]);
  const f64x2       first  = {1.0, 0.0};
  const f64x2       second = {0.0, 1.0};
  biquad_pair       q      = pair_of(&c->now[at]);
  f64x2* const      of_1   = c->memory[at];
  f64x2* const      of_2   = c->memory[at + 1];
  f64x2             m[2] = {{of_1[0][0], of_2[0][0]}, {of_1[1][0], of_2[1][0]}};
  double            share = c->share;

  // The first section alone; what the second makes of nothing is forgotten
  f64x2 y = run_pair_once(&q, m, low_pass, (f64x2){x[0], 0.0});
  m[0][1] = of_2[0][0];
  m[1][1] = of_2[1][0];
  if (low_pass) {
    step_pair(&q, &step, first);
  }
  for (uint32_t i = 1; i < n; ++i) {
    const double was = y[0];
    y                = run_pair_once(&q, m, low_pass, (f64x2){x[i], was});
    x[i - 1]         = presence ? was + share * (y[1] - was) : y[1];
    share += c->share_step;
    if (low_pass) {
      step_pair(&q, &step, first + second);
    }
  }

  // And now the second
  of_1[0][0]       = m[0][0];
  of_1[1][0]       = m[1][0];
  const double was = y[0];
  y                = run_pair_once(&q, m, low_pass, (f64x2){0.0, was});
  x[n - 1]         = presence ? was + share * (y[1] - was) : y[1];
  share += c->share_step;
  if (low_pass) {
    step_pair(&q, &step, second);
  }
  of_2[0][0] = m[0][1];
  of_2[1][0] = m[1][1];
  if (presence) {
    c->share = share;
  }
  for (int lane = 0; lane < 2 && low_pass; ++lane) {
    c->now[at + lane] = (biquad){.b0 = q.b0[lane],
                                 .b1 = q.b1[lane],
                                 .b2 = q.b2[lane],
                                 .a1 = q.a1[lane],
                                 .a2 = q.a2[lane]};
  }
}

WIDE_CLONES static void
run_mono(cabinet* c, const float* in, float* out, uint32_t n)
{
  double x[CONTROL_FRAMES];
  for (uint32_t i = 0; i < n; ++i) {
    x[i] = (double)in[i];
  }
  run_pair(c, CABINET_LOWER, false, false, x, n);
  run_pair(c, CABINET_MICROPHONE, true, false, x, n);
  run_pair(c, CABINET_LOW_PASS_1, false, true, x, n);
  for (uint32_t i = 0; i < n; ++i) {
    out[i] = (float)x[i];
  }
}

// ---------------------------------------------------------------------------

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
  if (n_channels == 1 && !c->microphone_moves) {
    run_mono(c, in[0], out[0], n);
  } else {
    f64x2 x[CONTROL_FRAMES];
    svf_load(in, x, n_channels, n);
    run_sections(c, x, c->microphone_moves, n);
    svf_store(x, out, n_channels, n);
  }
  for (uint32_t k = 0; k < n_channels && c->is_open; ++k) {
    run_rear(c, k, out[k], n);
  }
}
