// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "string_hands.h"

#include "repeatable.h"

void
string_hands_init(string_hands* h, double rate_hz)
{
  *h = (string_hands){
    .rate_hz = rate_hz, .fret_at = 1.0, .bend_at = 1.0, .damping_share = 1.0};
}

void
string_hands_fret(string_hands* h, double fret, double cents)
{
  h->fret = h->fret_from = h->fret_to = fret;
  h->fret_at                          = 1.0;
  h->cents                            = cents;
  h->bend = h->bend_from = h->bend_to = 0.0;
  h->bend_at                          = 1.0;
  h->shake = h->shake_depth = 0.0;
}

static double
periods(const string_hands* h, double over_s)
{
  const double n = over_s * h->rate_hz / STRING_CONTROL_FRAMES;
  return n > 1.0 ? n : 1.0;
}

void
string_hands_slide(string_hands* h, double fret, double over_s)
{
  h->fret_from = h->fret;
  h->fret_to   = fret;
  h->fret_at   = 0.0;
  h->fret_step = 1.0 / periods(h, over_s);
}

void
string_hands_bend(string_hands* h, double cents, double over_s)
{
  h->bend_from = h->bend;
  h->bend_to   = cents;
  h->bend_at   = 0.0;
  h->bend_step = 1.0 / periods(h, over_s);
}

void
string_hands_vibrato(string_hands* h, double depth_cents, double f_hz)
{
  h->shake_phase = 0.0;
  h->shake_depth = depth_cents;
  h->shake_step  = 2.0 * RP_PI * f_hz * STRING_CONTROL_FRAMES / h->rate_hz;
}

void
string_hands_damp(string_hands* h, string_damping damping, double over_s)
{
  h->damping_to    = damping;
  h->damping_share = 1.0 - rp_exp(-5.0 / periods(h, over_s));
}

// One step of a motion that starts and ends at rest
static double
glide(double from, double to, double* at, double step)
{
  if (*at + step >= 1.0) {
    *at = 1.0;
    return to;
  }
  *at += step;
  return from + (to - from) * 0.5 * (1.0 - rp_cos(RP_PI * *at));
}

static void
approach(string_damping* d, const string_damping* to, double share)
{
  d->low += share * (to->low - d->low);
  d->high += share * (to->high - d->high);
}

void
string_hands_move(string_hands* h)
{
  h->fret = glide(h->fret_from, h->fret_to, &h->fret_at, h->fret_step);
  h->bend = glide(h->bend_from, h->bend_to, &h->bend_at, h->bend_step);

  if (h->shake_depth > 0.0) {
    const double p    = h->shake_phase;
    const double grow = p < 4.0 * RP_PI ? p / (4.0 * RP_PI) : 1.0;
    h->shake          = h->shake_depth * grow * 0.5 * (1.0 - rp_cos(p));
    h->shake_phase += h->shake_step;
  }

  approach(&h->damping_mid, &h->damping_to, h->damping_share);
  approach(&h->damping, &h->damping_mid, h->damping_share);
}

double
string_hands_cents(const string_hands* h)
{
  return h->fret * 100.0 + h->cents + h->bend + h->shake;
}
