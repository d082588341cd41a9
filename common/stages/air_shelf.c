// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "air_shelf.h"

#include <string.h>

PARAMS_DEFINE(air_shelf, AIR_SHELF_PARAMS)
METERS_DEFINE(air_shelf, AIR_SHELF_METERS)
GLIDES_DEFINE(air_shelf, AIR_SHELF_GLIDES)

#define POWER_TAU_S 0.003
#define RISE_TAU_S  0.003
#define FALL_TAU_S  0.150

static biquad
presence_design(const air_shelf* s)
{
  return eq_high_shelf_1(steady_exp2(s->presence_hz.y), s->presence_db.y,
                         s->rate_hz);
}

static biquad
air_design(const air_shelf* s, uint32_t i)
{
  return eq_high_shelf_4(steady_exp2(s->air_hz.y), s->air_db.y, i, s->rate_hz);
}

static biquad
band_design(const air_shelf* s, uint32_t i)
{
  return eq_high_pass(steady_exp2(s->presence_hz.y), eq_butterworth_q(4, i),
                      s->rate_hz);
}

/// Returns the share of a shelf's effect that leaves `left` of its lift in dB
static double
share_of_lift(double lift_db, double left)
{
  if (lift_db <= 0.0) {
    return 1.0;
  }
  const double whole =
    steady_expm1(lift_db * 0.11512925464970228420); // ln(10) / 20
  const double part = steady_expm1(lift_db * left * 0.11512925464970228420);
  return lift_db < 1e-6 ? left : part / whole;
}

/// Returns how loud the treble is, 0 to 1
static double
loudness_of(double treble_dbfs)
{
  const double u = clampd((treble_dbfs - AIR_SHELF_FROM_DBFS) /
                            (AIR_SHELF_FULL_DBFS - AIR_SHELF_FROM_DBFS),
                          0.0, 1.0);
  return smoothstepd(u);
}

static void
reset_follower(air_shelf* s)
{
  for (uint32_t i = 0; i < 2; ++i) {
    svf_reset(&s->band[i]);
    svf_snap(&s->band[i], band_design(s, i));
  }
  s->line_power  = 0.0;
  s->power       = 0.0;
  s->treble_dbfs = AIR_SHELF_SILENCE_DBFS;
  for (uint32_t i = 0; i < AIR_SHELF_SECTIONS; ++i) {
    ramp_snap(&s->keep[i], 1.0);
  }
}

bool
air_shelf_init(air_shelf* s, double rate_hz, uint32_t n_channels)
{
  const double line_rate_hz = rate_hz / CONTROL_FRAMES;
  memset(s, 0, sizeof(*s));
  s->rate_hz    = rate_hz;
  s->n_channels = n_channels;
  air_shelf_glides_init(s, rate_hz);
  s->power_share = one_pole_share(POWER_TAU_S, line_rate_hz);
  s->rise_share  = one_pole_share(RISE_TAU_S, line_rate_hz);
  s->fall_share  = one_pole_share(FALL_TAU_S, line_rate_hz);
  return true;
}

void
air_shelf_set(air_shelf* s, const air_shelf_params* p)
{
  air_shelf_glides_set(s, p);
}

void
air_shelf_reset(air_shelf* s)
{
  air_shelf_glides_snap(s);
  for (uint32_t i = 0; i < AIR_SHELF_SECTIONS; ++i) {
    svf_reset(&s->shelf[i]);
  }
  svf_snap(&s->shelf[0], presence_design(s));
  svf_snap(&s->shelf[1], air_design(s, 0));
  svf_snap(&s->shelf[2], air_design(s, 1));
  s->is_gentle = false;
  reset_follower(s);
}

/// Takes the treble of the last grid line; reduces the lifts by its level
static void
follow(air_shelf* s)
{
  s->power += s->power_share * (s->line_power / CONTROL_FRAMES - s->power);
  s->line_power = 0.0;

  const double now_dbfs =
    fmax(0.5 * gain_to_db(s->power + 1e-30), AIR_SHELF_SILENCE_DBFS);
  s->treble_dbfs +=
    (now_dbfs > s->treble_dbfs ? s->rise_share : s->fall_share) *
    (now_dbfs - s->treble_dbfs);

  const double left = 1.0 - s->gentle.y * loudness_of(s->treble_dbfs);
  ramp_push(&s->keep[0], share_of_lift(s->presence_db.y, left));
  // Each section of the air has half of the lift
  const double air = share_of_lift(0.5 * s->air_db.y, left);
  ramp_push(&s->keep[1], air);
  ramp_push(&s->keep[2], air);
}

void
air_shelf_control(air_shelf* s)
{
  const bool moves_presence = s->presence_hz.moving || s->presence_db.moving;
  const bool moves_air      = s->air_hz.moving || s->air_db.moving;
  (void)air_shelf_glides_next(s);
  if (moves_presence || s->shelf[0].moving) {
    svf_push(&s->shelf[0], presence_design(s));
  }
  if (moves_air || s->shelf[1].moving || s->shelf[2].moving) {
    svf_push(&s->shelf[1], air_design(s, 0));
    svf_push(&s->shelf[2], air_design(s, 1));
  }

  const bool was_gentle = s->is_gentle;
  s->is_gentle          = s->gentle.moving || s->gentle.y > 0.0;
  if (!s->is_gentle) {
    return;
  }
  if (!was_gentle) {
    reset_follower(s);
  } else {
    for (uint32_t i = 0; i < 2; ++i) {
      if (moves_presence || s->band[i].moving) {
        svf_push(&s->band[i], band_design(s, i));
      }
    }
    follow(s);
  }
}

static void
measure_treble(air_shelf* s, const f64x2* x, uint32_t n)
{
  f64x2 band[CONTROL_FRAMES];
  memcpy(band, x, n * sizeof(band[0]));
  svf_run(s->band, 2, band, s->n_channels, n);
  for (uint32_t i = 0; i < n; ++i) {
    const f64x2 square = band[i] * band[i]; // Lane 1 is 0 in mono
    s->line_power += square[0] > square[1] ? square[0] : square[1];
  }
}

static void
run_gentle(air_shelf* s, f64x2* x, uint32_t n)
{
  measure_treble(s, x, n);
  for (uint32_t j = 0; j < AIR_SHELF_SECTIONS; ++j) {
    f64x2 dry[CONTROL_FRAMES];
    memcpy(dry, x, n * sizeof(dry[0]));
    svf_run(&s->shelf[j], 1, x, s->n_channels, n);
    for (uint32_t i = 0; i < n; ++i) {
      x[i] = dry[i] + (double)ramp_next(&s->keep[j]) * (x[i] - dry[i]);
    }
  }
}

void
air_shelf_process(air_shelf*          s,
                  const float* const* in,
                  float* const*       out,
                  uint32_t            n)
{
  f64x2 x[CONTROL_FRAMES];
  svf_load(in, x, s->n_channels, n);
  if (s->is_gentle) {
    run_gentle(s, x, n);
  } else {
    svf_run(s->shelf, AIR_SHELF_SECTIONS, x, s->n_channels, n);
  }
  svf_store(x, out, s->n_channels, n);
}

uint32_t
air_shelf_latency_frames(const air_shelf* s)
{
  (void)s;
  return 0;
}

void
air_shelf_meter(const air_shelf* s, air_shelf_meters* m)
{
  m->treble_db =
    (float)(s->is_gentle ? s->treble_dbfs : AIR_SHELF_SILENCE_DBFS);
}

STAGE_DEFINE_METERED(air_shelf)
