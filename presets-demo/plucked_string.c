// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "plucked_string.h"

#include <string.h>

#define MASK       (STRING_LINE_FRAMES - 1U)
#define YOUNG_PA   2.0e11
#define TOUCH_LOW  250.0 // 1/s: a string under the pick is gone in 20 ms
#define TOUCH_HIGH 900.0
#define QUIET      1e-14 // Mean square in (m/s)^2 below which a string rests

void
plucked_string_init(plucked_string*     s,
                    const string_gauge* gauge,
                    pickup_place        pickup,
                    double              rate_hz,
                    uint64_t            seed)
{
  *s                 = (plucked_string){.gauge       = gauge,
                                        .pickup      = pickup,
                                        .rate_hz     = rate_hz,
                                        .stroke_at   = -1,
                                        .rub_at      = -1,
                                        .tuned_fret  = -1.0,
                                        .hands_share = 1.0,
                                        .noise       = dice_of(seed)};
  s->wave[0].detune  = 1.0;
  s->wave[0].support = 1.0;
  s->wave[1].detune  = 1.0 - 2.2e-4;
  s->wave[1].support = 0.45;
}

double
plucked_string_hz(const plucked_string* s)
{
  return s->gauge->open_hz *
         rp_cents(s->fret * 100.0 + s->cents + s->bend + s->shake);
}

// Take the hands into account at once, in the middle of a control period
static void
start_period(plucked_string* s)
{
  s->phase       = 0;
  s->designed_hz = -1.0; // Ramps have been cut short: design again
  s->sounding    = true;
}

void
plucked_string_pluck(plucked_string* s,
                     double          fret,
                     double          cents,
                     string_stroke   stroke)
{
  s->fret = s->fret_target = fret;
  s->cents                 = cents;
  s->bend = s->bend_from = s->bend_to = 0.0;
  s->bend_at                          = 1.0;
  s->shake = s->shake_depth = 0.0;

  s->stroke         = stroke;
  s->stroke_at      = 0;
  s->hold_frames    = (int32_t)(stroke.hold_s * s->rate_hz) + 1;
  s->release_frames = (int32_t)(stroke.release_s * s->rate_hz) + 2;
  start_period(s);
}

void
plucked_string_slide(plucked_string* s, double fret, double over_s)
{
  const double periods = over_s * s->rate_hz / STRING_CONTROL_FRAMES;
  s->fret_target       = fret;
  s->fret_step         = fabs(fret - s->fret) / (periods > 1.0 ? periods : 1.0);
}

void
plucked_string_bend(plucked_string* s, double cents, double over_s)
{
  const double periods = over_s * s->rate_hz / STRING_CONTROL_FRAMES;
  s->bend_from         = s->bend;
  s->bend_to           = cents;
  s->bend_at           = 0.0;
  s->bend_step         = 1.0 / (periods > 1.0 ? periods : 1.0);
}

void
plucked_string_vibrato(plucked_string* s, double depth_cents, double f_hz)
{
  if (s->shake_depth == 0.0) {
    s->shake_phase = 0.0;
  }
  s->shake_depth = depth_cents;
  s->shake_step  = 2.0 * RP_PI * f_hz * STRING_CONTROL_FRAMES / s->rate_hz;
}

void
plucked_string_damp(plucked_string* s, string_damping hands, double over_s)
{
  // Three time constants
  s->hands_target = hands;
  s->hands_share =
    1.0 - rp_exp(-3.0 * STRING_CONTROL_FRAMES / (over_s * s->rate_hz + 1.0));
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

// One control period of the hands
static void
move_hands(plucked_string* s)
{
  const double left = s->fret_target - s->fret;
  s->fret           = fabs(left) <= s->fret_step
                        ? s->fret_target
                        : s->fret + (left > 0.0 ? s->fret_step : -s->fret_step);
  if (s->bend_at < 1.0) {
    s->bend_at += s->bend_step;
    s->bend_at = s->bend_at > 1.0 ? 1.0 : s->bend_at;
    s->bend    = s->bend_from + (s->bend_to - s->bend_from) * 0.5 *
                               (1.0 - rp_cos(RP_PI * s->bend_at));
  }
  if (s->shake_depth > 0.0) {
    // Grows within the first two swings
    const double p    = s->shake_phase;
    const double grow = p < 4.0 * RP_PI ? p / (4.0 * RP_PI) : 1.0;
    s->shake          = s->shake_depth * grow * 0.5 * (1.0 - rp_cos(p));
    s->shake_phase += s->shake_step;
  }

  s->hands.low += s->hands_share * (s->hands_target.low - s->hands.low);
  s->hands.high += s->hands_share * (s->hands_target.high - s->hands.high);
  const bool on = s->stroke_at >= 0 && s->stroke_at < s->hold_frames;
  s->touch += (on ? 0.6 : 0.9) * ((on ? 1.0 : 0.0) - s->touch);
  s->touch = s->touch < 1e-4 ? 0.0 : s->touch;
}

// Filters for the string as it is held now, reached in one control period
static void
design(plucked_string* s, double f1_hz, string_damping hands)
{
  const double periods = 1.0 / STRING_CONTROL_FRAMES;
  if (s->tuned_fret < 0.0) {
    s->tuned_fret = s->fret;
    s->dispersion = dispersion_filter_of(
      f1_hz, string_inharmonicity(s->gauge, f1_hz), s->rate_hz);
  }
  const double stiff =
    dispersion_filter_delay(&s->dispersion, f1_hz, s->rate_hz);

  for (uint32_t k = 0; k < 2; ++k) {
    string_wave*      w = &s->wave[k];
    const double      f = f1_hz * w->detune;
    const loss_filter to =
      loss_filter_of(s->gauge, f, w->support, hands, s->rate_hz);
    const bool fresh = w->delay == 0.0;
    s->base_delay[k] =
      s->rate_hz / f - stiff - loss_filter_delay(&to, f, s->rate_hz);
    if (fresh) {
      w->delay = s->base_delay[k];
      w->loss  = to;
    }
    w->loss_step.gain = (to.gain - w->loss.gain) * periods;
    for (uint32_t i = 0; i < LOSS_SHELVES; ++i) {
      w->loss.share[i]      = to.share[i];
      w->loss_step.depth[i] = (to.depth[i] - w->loss.depth[i]) * periods;
    }
  }
  s->designed_hz = f1_hz;
  s->designed    = hands;
}

static void
hold_filters(string_wave* w)
{
  w->loss_step = (loss_filter){.gain = 0.0};
}

// Once per control period
static void
control(plucked_string* s)
{
  move_hands(s);
  const double         f1_hz = plucked_string_hz(s);
  const string_damping hands = {s->hands.low + TOUCH_LOW * s->touch,
                                s->hands.high + TOUCH_HIGH * s->touch};

  // A new fret under the pick: a new stiffness.  On a ringing string (slides,
  // hammer-ons, bends) the filter stays as it is, for a jump would click.
  if (s->touch > 0.5 && s->fret != s->tuned_fret) {
    s->tuned_fret = -1.0;
  }
  const bool settled = f1_hz == s->designed_hz &&
                       fabs(hands.low - s->designed.low) < 1e-3 &&
                       fabs(hands.high - s->designed.high) < 1e-3;
  if (settled && s->tuned_fret >= 0.0) {
    hold_filters(&s->wave[0]);
    hold_filters(&s->wave[1]);
  } else {
    design(s, f1_hz, hands);
  }

  // The swing lengthens the string: strain = half the mean square of the slope,
  // slope^2 = 2 (wave / c)^2, frequency rises by half the share of tension
  const double c      = string_speed_m_s(s->gauge);
  const double slope2 = 2.0 * (s->wave[0].level2 + s->wave[1].level2) / (c * c);
  const double area_m2 = RP_PI / 4.0 * s->gauge->core_m * s->gauge->core_m;
  const double rise =
    YOUNG_PA * area_m2 * 0.25 * slope2 / string_tension_n(s->gauge);
  for (uint32_t k = 0; k < 2; ++k) {
    string_wave* w = &s->wave[k];
    const double d = s->base_delay[k] - s->rate_hz / f1_hz * rise;
    w->delay_step  = (d - w->delay) / STRING_CONTROL_FRAMES;
  }
}

// Lagrange weights for a delay of `i` + fraction `f`, f in 0..1: four points,
// i - 1 .. i + 2
static inline void
lagrange4(double f, double* h)
{
  h[0] = -f * (f - 1.0) * (f - 2.0) * (1.0 / 6.0);
  h[1] = (f + 1.0) * (f - 1.0) * (f - 2.0) * 0.5;
  h[2] = -(f + 1.0) * f * (f - 2.0) * 0.5;
  h[3] = (f + 1.0) * f * (f - 1.0) * (1.0 / 6.0);
}

// The wave `delay` frames ago, six points: flat enough for the loop
static inline double
read_loop(const string_wave* w, uint32_t at, double delay)
{
  const uint32_t i = (uint32_t)delay;
  const double   f = delay - i;
  const double   a = f + 2.0;
  const double   b = f + 1.0;
  const double   c = f - 1.0;
  const double   d = f - 2.0;
  const double   e = f - 3.0;
  const double*  l = w->line;
  const uint32_t p = at - i;
  return l[(p + 2) & MASK] * (b * f * c * d * e * (-1.0 / 120.0)) +
         l[(p + 1) & MASK] * (a * f * c * d * e * (1.0 / 24.0)) +
         l[p & MASK] * (a * b * c * d * e * (-1.0 / 12.0)) +
         l[(p - 1) & MASK] * (a * b * f * d * e * (1.0 / 12.0)) +
         l[(p - 2) & MASK] * (a * b * f * c * e * (-1.0 / 24.0)) +
         l[(p - 3) & MASK] * (a * b * f * c * d * (1.0 / 120.0));
}

static inline double
read_point(const string_wave* w, uint32_t at, double delay)
{
  const uint32_t i = (uint32_t)delay;
  const uint32_t p = at - i;
  double         h[4];
  lagrange4(delay - i, h);
  return h[0] * w->line[(p + 1) & MASK] + h[1] * w->line[p & MASK] +
         h[2] * w->line[(p - 1) & MASK] + h[3] * w->line[(p - 2) & MASK];
}

static inline void
add_point(string_wave* w, uint32_t at, double delay, double x)
{
  const uint32_t i = (uint32_t)delay;
  const uint32_t p = at - i;
  double         h[4];
  lagrange4(delay - i, h);
  w->line[(p + 1) & MASK] += h[0] * x;
  w->line[p & MASK] += h[1] * x;
  w->line[(p - 1) & MASK] += h[2] * x;
  w->line[(p - 2) & MASK] += h[3] * x;
}

// One frame of one polarisation: what comes back from the far end
static inline void
circulate(string_wave* w, const dispersion_filter* d, uint32_t at)
{
  double x = w->loss.gain * read_loop(w, at, w->delay);
  for (uint32_t i = 0; i < LOSS_SHELVES; ++i) {
    w->low[i] += w->loss.share[i] * (x - w->low[i]);
    x -= w->loss.depth[i] * (x - w->low[i]);
    w->loss.depth[i] += w->loss_step.depth[i];
  }
  for (uint32_t i = 0; i < d->n; ++i) {
    const double y = d->a2[i] * x + w->ap1[i];
    w->ap1[i]      = d->a1[i] * (x - y) + w->ap2[i];
    w->ap2[i]      = x - d->a2[i] * y;
    x              = y;
  }
  w->line[at & MASK] = x;
  w->level2 += 0.0015 * (x * x - w->level2);
  w->loss.gain += w->loss_step.gain;
  w->delay += w->delay_step;
}

// Force of the pick now, as a share of the force at which it slips
static double
pick_force(plucked_string* s)
{
  const int32_t t = s->stroke_at++;
  if (t < s->hold_frames) {
    // Noise of the pick, around 2 to 6 kHz, strongest as it starts to slip
    const double push = 0.5 * (1.0 - rp_cos(RP_PI * t / s->hold_frames));
    s->scrape_low += 0.5 * (dice_between(&s->noise, -1.0, 1.0) - s->scrape_low);
    s->scrape_high += 0.25 * (s->scrape_low - s->scrape_high);
    return push + s->stroke.scrape * push * (s->scrape_low - s->scrape_high);
  }
  const int32_t u = t - s->hold_frames;
  if (u < s->release_frames) {
    return 0.5 * (1.0 + rp_cos(RP_PI * u / s->release_frames));
  }
  s->stroke_at = -1;
  return 0.0;
}

static void
pluck(plucked_string* s)
{
  const string_stroke* k        = &s->stroke;
  const double         length_m = SCALE_M * s->gauge->open_hz / s->designed_hz;
  const double         share    = k->position_m / length_m;
  const double         slip_n =
    string_tension_n(s->gauge) * k->height_m / (k->position_m * (1.0 - share));
  const double wave = 0.5 * slip_n * pick_force(s) / string_impedance(s->gauge);
  const double tau  = k->position_m / string_speed_m_s(s->gauge) * s->rate_hz;
  const double v[2] = {wave * (1.0 - k->angle), wave * k->angle};
  for (uint32_t i = 0; i < 2; ++i) {
    string_wave* w = &s->wave[i];
    add_point(w, s->at, 0.5 * w->delay - tau, v[i]);
    add_point(w, s->at, 0.5 * w->delay + tau, -v[i]);
  }
}

// Band of noise that sweeps with the speed of the finger
static void
rub(plucked_string* s)
{
  const double t    = (double)s->rub_at++ / s->rub_frames;
  const double bow  = rp_sin(RP_PI * t);
  const double w    = s->rub_w * (0.4 + 0.6 * bow);
  const double x    = dice_between(&s->noise, -1.0, 1.0);
  const double high = x - s->rub_low - 0.12 * s->rub_band;
  s->rub_band += w * high;
  s->rub_low += w * s->rub_band;
  const double v = s->rub * bow * 0.12 * s->rub_band;
  for (uint32_t i = 0; i < 2; ++i) {
    string_wave* p = &s->wave[i];
    add_point(p, s->at, 0.95 * p->delay, v);
  }
  if (s->rub_at >= s->rub_frames) {
    s->rub_at = -1;
  }
}

static double
listen(const string_wave* w, uint32_t at, double from, double to)
{
  const double centre = 0.5 * w->delay;
  return 0.5 *
         (read_point(w, at, centre - from) - read_point(w, at, centre + from) +
          read_point(w, at, centre - to) - read_point(w, at, centre + to));
}

static void
rest(plucked_string* s)
{
  for (uint32_t k = 0; k < 2; ++k) {
    string_wave* w = &s->wave[k];
    memset(w->line, 0, sizeof(w->line));
    memset(w->ap1, 0, sizeof(w->ap1));
    memset(w->ap2, 0, sizeof(w->ap2));
    memset(w->low, 0, sizeof(w->low));
    w->level2 = 0.0;
    w->delay  = 0.0;
  }
  s->designed_hz = 0.0;
  s->sounding    = false;
}

void
plucked_string_process(plucked_string* s,
                       double*         across,
                       double*         along,
                       uint32_t        n)
{
  const double frames_per_m = s->rate_hz / string_speed_m_s(s->gauge);
  const double half         = 0.5 * s->pickup.aperture_m;
  const double from         = (s->pickup.position_m - half) * frames_per_m;
  const double to           = (s->pickup.position_m + half) * frames_per_m;

  for (uint32_t i = 0; i < n; ++i) {
    if (s->phase == 0) {
      const double level2 = s->wave[0].level2 + s->wave[1].level2;
      if (s->sounding && s->stroke_at < 0 && s->rub_at < 0 && level2 < QUIET) {
        rest(s);
      }
      if (s->sounding) {
        control(s);
      } else {
        move_hands(s);
      }
    }
    s->phase = (s->phase + 1) % STRING_CONTROL_FRAMES;
    if (!s->sounding) {
      continue;
    }

    circulate(&s->wave[0], &s->dispersion, s->at);
    circulate(&s->wave[1], &s->dispersion, s->at);
    if (s->stroke_at >= 0) {
      pluck(s);
    }
    if (s->rub_at >= 0) {
      rub(s);
    }
    across[i] += listen(&s->wave[0], s->at, from, to);
    along[i] += listen(&s->wave[1], s->at, from, to);
    ++s->at;
  }
}
