// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "plucked_string.h"

#include <string.h>

// A string under the pick falls silent within some 20 ms; our choice
static const string_damping TOUCH = {250.0, 900.0};

// The two axes of the supports.  Along the second one they are stiffer, and the
// string rolls on saddle and fret, so that it is longer by half a millimetre
// and a little flatter; our choice, to the ripple of 2 to 3 dB that recorded
// notes show.
static const double DETUNE[2]  = {1.0, 1.0 - 9e-4};
static const double SUPPORT[2] = {1.0, 0.45};

// Mean square in (m/s)^2 below which a string rests; strokes and squeaks are
// shorter than the time it stays awake for them
#define QUIET 1e-12

void
plucked_string_init(plucked_string*     s,
                    const string_gauge* gauge,
                    pickup_place        pickup,
                    double              rate_hz,
                    uint64_t            seed)
{
  const double frames_per_m = rate_hz / string_speed_m_s(gauge);
  const double half_m       = 0.5 * pickup.aperture_m;

  *s = (plucked_string){.gauge    = gauge,
                        .rate_hz  = rate_hz,
                        .tap_near = (pickup.position_m - half_m) * frames_per_m,
                        .tap_far  = (pickup.position_m + half_m) * frames_per_m,
                        .pick     = {.at = -1},
                        .rub_at   = -1,
                        .stiff_fret = -1.0,
                        .noise      = dice_of(seed),
                        .impedance  = string_impedance(gauge),
                        .axis = {rp_cos(STRING_TILT), -rp_sin(STRING_TILT)}};
  string_hands_init(&s->hands, rate_hz);
}

double
plucked_string_hz(const plucked_string* s)
{
  return s->gauge->open_hz * rp_cents(string_hands_cents(&s->hands));
}

// Begins a control period here, so that the hands act at once
static void
start_period(plucked_string* s)
{
  s->phase       = 0;
  s->designed_hz = -1.0; // Ramps have been cut short: design again
  s->sounding    = true;
  s->awake       = 4 * STRING_LINE_FRAMES / STRING_CONTROL_FRAMES;
}

void
plucked_string_pluck(plucked_string* s,
                     double          fret,
                     double          cents,
                     string_stroke   stroke)
{
  string_hands_fret(&s->hands, fret, cents);
  guitar_pick_land(&s->pick, stroke, s->rate_hz);
  fretboard_stop(&s->board, s->gauge, fret, s->rate_hz);
  start_period(s);
}

void
plucked_string_rub(plucked_string* s, double level, double f_hz, double over_s)
{
  s->rub        = level;
  s->rub_w      = 2.0 * rp_sin(RP_PI * f_hz / s->rate_hz);
  s->rub_at     = 0;
  s->rub_frames = (int32_t)(over_s * s->rate_hz) + 1;
  start_period(s);
}

static void
design_stiffness(plucked_string* s, double f1_hz)
{
  s->stiff_fret = s->hands.fret;
  const loss_filter own =
    loss_filter_of(s->gauge, f1_hz, SUPPORT[0], s->rate_hz);
  s->dispersion = dispersion_filter_of(
    f1_hz, string_inharmonicity(s->gauge, f1_hz), &own, s->rate_hz);
  for (uint32_t k = 0; k < 2; ++k) { // Clear unused sections
    for (uint32_t i = s->dispersion.n; i < MAX_SECTIONS; ++i) {
      s->wave[k].s1[i] = s->wave[k].s2[i] = 0.0;
      s->wave[k].in[0][i + 1] = s->wave[k].in[1][i + 1] = 0.0;
    }
  }
}

// Starts the ramps to where the filters are to be one control period later
static void
aim(string_wave* w, const loss_filter* to, double delay)
{
  if (w->delay == 0.0) { // After a rest: jump
    w->delay = delay;
    w->loss  = *to;
  }
  w->loss_step.gain = (to->gain - w->loss.gain) / STRING_CONTROL_FRAMES;
  for (uint32_t i = 0; i < LOSS_SHELVES; ++i) {
    w->loss_step.share[i] =
      (to->share[i] - w->loss.share[i]) / STRING_CONTROL_FRAMES;
    w->loss_step.depth[i] =
      (to->depth[i] - w->loss.depth[i]) / STRING_CONTROL_FRAMES;
  }
}

// Filters for the string as it is held now
static void
design(plucked_string* s, double f1_hz, string_damping hands)
{
  if (s->stiff_fret < 0.0) {
    design_stiffness(s, f1_hz);
  }
  const double stiff =
    dispersion_filter_delay(&s->dispersion, f1_hz, s->rate_hz) +
    string_wave_chain_frames(&s->dispersion);

  for (uint32_t k = 0; k < 2; ++k) {
    const double f = f1_hz * DETUNE[k];
    if (f1_hz != s->own_hz) {
      s->own[k] = loss_filter_of(s->gauge, f, SUPPORT[k], s->rate_hz);
    }
    const loss_filter to = loss_filter_damped(&s->own[k], f, hands, s->rate_hz);
    const double      loss = loss_filter_delay(&to, f, s->rate_hz);
    s->rest_delay[k]       = s->rate_hz / f - stiff - loss;
    aim(&s->wave[k], &to, s->rest_delay[k]);
  }
  s->own_hz      = f1_hz;
  s->designed_hz = f1_hz;
  s->designed    = hands;
}

// The swing lengthens the string.  Strain is half the mean square of the slope,
// that is (wave / c)^2 summed over both directions.  Tension rises by E A times
// the strain, and frequency by half the relative rise of the tension.
static void
stretch(plucked_string* s)
{
  const string_gauge* g       = s->gauge;
  const double        c       = string_speed_m_s(g);
  const double        level2  = s->wave[0].level2 + s->wave[1].level2;
  const double        area_m2 = RP_PI / 4.0 * g->core_m * g->core_m;
  const double        more_n  = STEEL_PA * area_m2 * level2 / (c * c);
  const double        rise    = 0.5 * more_n / string_tension_n(g);
  for (uint32_t k = 0; k < 2; ++k) {
    string_wave* w = &s->wave[k];
    const double d = s->rest_delay[k] - s->rate_hz / s->designed_hz * rise;
    w->delay_step  = (d - w->delay) / STRING_CONTROL_FRAMES;
  }
}

static void
control(plucked_string* s)
{
  const double         f1_hz = plucked_string_hz(s);
  const string_damping hands = {
    s->hands.damping.low + TOUCH.low * s->pick.touch,
    s->hands.damping.high + TOUCH.high * s->pick.touch};

  // A new fret under the pick: a new stiffness.  On a ringing string (slides,
  // hammer-ons, bends) the filter stays as it is, for a jump would click.
  if (s->pick.touch > 0.5 && s->hands.fret != s->stiff_fret) {
    s->stiff_fret = -1.0;
  }
  const bool settled = f1_hz == s->designed_hz && s->stiff_fret >= 0.0 &&
                       fabs(hands.low - s->designed.low) < 1e-3 &&
                       fabs(hands.high - s->designed.high) < 1e-3;
  if (settled) {
    s->wave[0].loss_step = s->wave[1].loss_step = (loss_filter){.gain = 0.0};
  } else {
    design(s, f1_hz, hands);
  }
  stretch(s);
}

static void
pluck(plucked_string* s)
{
  const string_stroke* k        = &s->pick.stroke;
  const double         length_m = SCALE_M * s->gauge->open_hz / s->designed_hz;
  const double         beyond   = 1.0 - k->position_m / length_m;
  const double         slip_n =
    string_tension_n(s->gauge) * k->height_m / (k->position_m * beyond);
  const double v =
    0.5 * slip_n * guitar_pick_force(&s->pick, &s->noise) / s->impedance;
  const double tap  = k->position_m / string_speed_m_s(s->gauge) * s->rate_hz;
  const double turn = k->angle - STRING_TILT;
  const double part[2] = {v * rp_cos(turn), v * rp_sin(turn)};
  for (uint32_t i = 0; i < 2; ++i) {
    string_wave* w = &s->wave[i];
    string_wave_add(w, s->at, string_wave_at(w, tap), part[i]);
    string_wave_add(w, s->at, string_wave_at(w, -tap), -part[i]);
  }
}

// A band of noise whose centre follows the speed of the finger
static void
rub(plucked_string* s)
{
  const double speed = rp_sin(RP_PI * s->rub_at / s->rub_frames);
  const double w     = s->rub_w * (0.4 + 0.6 * speed);
  const double noise = dice_between(&s->noise, -1.0, 1.0);
  s->rub_band += w * (noise - s->rub_low - 0.12 * s->rub_band);
  s->rub_low += w * s->rub_band;

  const double v = 0.12 * s->rub * speed * s->rub_band;
  string_wave_add(&s->wave[0], s->at, 0.9 * s->wave[0].delay, v);
  string_wave_add(&s->wave[1], s->at, 0.9 * s->wave[1].delay, v);
  s->rub_at = s->rub_at + 1 < s->rub_frames ? s->rub_at + 1 : -1;
}

// What the pickup hears: both directions, at two points
static double
hear(const plucked_string* s, const string_wave* w)
{
  const double near =
    string_wave_read(w, s->at, string_wave_at(w, s->tap_near)) -
    string_wave_read(w, s->at, string_wave_at(w, -s->tap_near));
  const double far = string_wave_read(w, s->at, string_wave_at(w, s->tap_far)) -
                     string_wave_read(w, s->at, string_wave_at(w, -s->tap_far));
  return 0.5 * (near + far);
}

// Adds the bridge's motion and returns the force on the bridge; to the nearest
// whole frame, which does not matter there
static double
push_bridge(plucked_string* s, double bridge)
{
  double v = 0.0;
  for (uint32_t k = 0; k < 2; ++k) {
    string_wave*   w = &s->wave[k];
    const uint32_t i = (s->at - (uint32_t)(0.5 * w->delay)) & STRING_LINE_MASK;
    v += s->axis[k] * w->line[i];
    w->line[i] -= s->axis[k] * bridge;
  }
  return 2.0 * s->impedance * v;
}

static void
rest(plucked_string* s)
{
  memset(s->wave, 0, sizeof(s->wave));
  s->designed_hz = -1.0;
  s->sounding    = false;
}

static void
next_period(plucked_string* s)
{
  // The level is taken at the far end, which a stroke reaches later
  const double level2 = s->wave[0].level2 + s->wave[1].level2;
  s->awake -= s->awake > 0;
  if (s->sounding && s->awake == 0 && level2 < QUIET) {
    rest(s);
  }

  string_hands_move(&s->hands);
  guitar_pick_damp(&s->pick, 2 * STRING_CONTROL_FRAMES);
  if (s->sounding) {
    control(s);
  }
}

void
plucked_string_process(plucked_string* s,
                       const double*   bridge,
                       string_output   out,
                       uint32_t        n)
{
  for (uint32_t i = 0; i < n; ++i) {
    if (s->phase == 0) {
      if (!s->sounding && fabs(bridge[i]) > 1e-4) {
        start_period(s);
      }
      next_period(s);
    }
    s->phase = (s->phase + 1) % STRING_CONTROL_FRAMES;
    if (!s->sounding) {
      out.across[i] = out.along[i] = out.force_n[i] = 0.0;
      continue;
    }

    string_wave_circulate(&s->wave[0], &s->dispersion, s->at);
    string_wave_circulate(&s->wave[1], &s->dispersion, s->at);
    out.force_n[i] = push_bridge(s, bridge[i]);
    if (s->pick.at >= 0) {
      pluck(s);
    }
    if (s->rub_at >= 0) {
      rub(s);
    }
    if (s->board.awake > 0) {
      fretboard_touch(&s->board, s->wave, s->axis, s->at);
    }
    const double v0 = hear(s, &s->wave[0]);
    const double v1 = hear(s, &s->wave[1]);
    out.across[i]   = s->axis[0] * v0 + s->axis[1] * v1;
    out.along[i]    = s->axis[0] * v1 - s->axis[1] * v0;
    ++s->at;
  }
}
