// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "cabinet.h"

#include "cabinet_sections.h"
#include "common/core/air.h"

#include <string.h>

// For 12 inch
#define LOWER_HZ    450.0
#define LOWER_DB    (-3.0)
#define LOWER_Q     0.8
#define PRESENCE_HZ 2600.0
#define PRESENCE_DB 6.0
#define PRESENCE_Q  1.2
#define OFF_AXIS_HZ 2200.0

// Low-pass that stands for ways of different lengths around the cabinet
#define REAR_LOW_PASS_HZ 700.0

// Off the axis, see the header: largest k a, and the power to which modes fill
// the nulls
#define PISTON_KA   4.0
#define NULL_FILLED 0.1

_Static_assert(DELAY_HOLDS(CABINET_LINE,
                           DSP_MOST_FRAMES(CABINET_AROUND_MM * 15U / 12U) /
                               (uint32_t)SPEED_OF_SOUND_M_S +
                             2U),
               "The way around 15 inch");

static void
set_section(cabinet_filters* f, int s, biquad q)
{
  f->of[CABINET_B0][s] = q.b0;
  f->of[CABINET_B1][s] = q.b1;
  f->of[CABINET_B2][s] = q.b2;
  f->of[CABINET_A1][s] = q.a1;
  f->of[CABINET_A2][s] = q.a2;
}

static double
effect_of_db(double db)
{
  return db_to_gain(db) - 1.0;
}

/// Designs the low-pass over how far it falls
static void
design_low_pass(cabinet* c)
{
  const double f0_hz = cone_curve_of(c->size)->low_pass_hz;
  for (uint32_t i = 0; i < MOVING_DESIGN_PLACES; ++i) {
    const double fall_oct = moving_design_place(i, CABINET_MAX_FALL_OCT);
    double*      to       = c->fallen[i];
    for (uint32_t k = 0; k < 2; ++k) {
      const biquad q = eq_low_pass(f0_hz * steady_exp2(-fall_oct),
                                   eq_butterworth_q(4, k), c->rate_hz);
      *to++          = q.b0;
      *to++          = q.b1;
      *to++          = q.a1;
      *to++          = q.a2;
    }
  }
  moving_design_differ(c->fallen[0], CABINET_FALLING, CABINET_MAX_FALL_OCT);
}

/// Designs what never moves, the whole presence bell included
static void
design_still(cabinet* c)
{
  const double            s     = cone_scale(c->size);
  const cone_curve* const curve = cone_curve_of(c->size);

  const double rate_hz = c->rate_hz;
  set_section(&c->to, CABINET_LOWER,
              eq_bell(LOWER_HZ / s, LOWER_DB, LOWER_Q, rate_hz));
  set_section(&c->to, CABINET_EDGE,
              eq_bell(curve->edge_hz, curve->edge_db, curve->edge_q, rate_hz));
  for (int i = 0; i < CONE_CURVE_MODES; ++i) {
    set_section(&c->to, CABINET_MODE_1 + i,
                eq_of_pole_zero(curve->mode[i], rate_hz));
  }
  set_section(&c->to, CABINET_CAP, eq_of_pole_zero(curve->cap, rate_hz));
  set_section(&c->to, CABINET_PRESENCE,
              eq_bell(PRESENCE_HZ / s, PRESENCE_DB, PRESENCE_Q, rate_hz));
}

void
cabinet_init(cabinet* c, cone_size size, bool is_open, double rate_hz)
{
  const double s = cone_scale(size);

  c->rate_hz = rate_hz;
  c->size    = size;
  c->is_open = is_open;
  design_still(c);

  const double around_m = 1e-3 * CABINET_AROUND_MM * s;
  c->rear_frames        = (float)(around_m / SPEED_OF_SOUND_M_S * rate_hz);
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
  const double d = db_to_gain(cone_piston_db(PISTON_KA * steady_sin(angle)));
  const double power = (d * d + NULL_FILLED) / (1.0 + NULL_FILLED);
  c->off_axis        = off_axis;
  set_section(&c->to, CABINET_MICROPHONE,
              eq_high_shelf(OFF_AXIS_HZ / cone_scale(c->size),
                            0.5 * gain_to_db(power), c->rate_hz));
}

/// Sets the targets for the next grid line
static void
aim(cabinet* c, const cabinet_line* line)
{
  c->share_to =
    effect_of_db(PRESENCE_DB + line->lift_db) / effect_of_db(PRESENCE_DB);

  double q[CABINET_FALLING];
  moving_design_value(c->fallen[0], CABINET_FALLING, CABINET_MAX_FALL_OCT,
                      line->fall_oct, q);
  for (int k = 0; k < 2; ++k) {
    const double* const of = k == 0 ? q : q + 4;
    set_section(&c->to, CABINET_LOW_PASS_1 + k,
                (biquad){.b0 = of[0], .b1 = of[1], .a1 = of[2], .a2 = of[3]});
  }
}

void
cabinet_snap(cabinet* c, const cabinet_line* line)
{
  aim_microphone(c, line->off_axis);
  aim(c, line);
  c->now              = c->to;
  c->step             = (cabinet_filters){0};
  c->share            = c->share_to;
  c->share_step       = 0.0;
  c->microphone_moves = false;
}

/// Ends the ramps at their targets, free of their rounding
static void
settle(cabinet* c)
{
  for (int i = 0; i < CABINET_N; ++i) {
    for (int s = CABINET_MICROPHONE; s < CABINET_SECTIONS; ++s) {
      c->now.of[i][s] = c->to.of[i][s];
    }
  }
  c->share = c->share_to;
}

void
cabinet_push(cabinet* c, const cabinet_line* line)
{
  const double share = 1.0 / CONTROL_FRAMES;

  settle(c);
  c->microphone_moves = line->off_axis != c->off_axis;
  if (c->microphone_moves) {
    aim_microphone(c, line->off_axis);
  }
  aim(c, line);
  c->share_step = share * (c->share_to - c->share);
  for (int i = 0; i < CABINET_N; ++i) {
    for (int s = CABINET_MICROPHONE; s < CABINET_SECTIONS; ++s) {
      c->step.of[i][s] = share * (c->to.of[i][s] - c->now.of[i][s]);
    }
  }
}

/// Subtracts the wave from the rear from channel k
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
  cabinet_run_sections(c, in, out, n_channels, n);
  for (uint32_t k = 0; k < n_channels && c->is_open; ++k) {
    run_rear(c, k, out[k], n);
  }
}
