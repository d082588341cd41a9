// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "player_hands.h"

#include <stdlib.h>

#define RING_OUT_S  3.2
#define DRIFT_SHARE 0.12 // Of each stroke in the drift

// Both hands, softly, at the end
static const string_damping STOP = {30.0, 130.0};

double
performance_start_s(void)
{
  return SCORE_COUNT_IN_BEATS * SCORE_BEAT_S;
}

player_hands
player_hands_of(performance* out, const player* who)
{
  player_hands h = {.out = out, .who = who, .chance = dice_of(who->seed)};
  out->n         = 0;
  for (uint32_t k = 0; k < N_STRINGS; ++k) {
    h.held[k] = PLAYER_NO_FRET;
    player_damp(&h, 0.0, k, HAND_DEAD, 0.001);
  }
  return h;
}

void
player_add(player_hands* h, gesture g)
{
  g.at_s = g.at_s < 0.0 ? 0.0 : g.at_s;
  assert(h->out->n < MAX_GESTURES);
  h->out->list[h->out->n++] = g;
}

void
player_damp(player_hands*  h,
            double         at_s,
            uint32_t       string,
            string_damping d,
            double         over_s)
{
  player_add(h, (gesture){.at_s   = at_s,
                          .kind   = GESTURE_DAMP,
                          .string = string,
                          .hands  = d,
                          .over_s = over_s});
}

void
player_damp_all(player_hands* h, double at_s, string_damping d, double over_s)
{
  for (uint32_t k = 0; k < N_STRINGS; ++k) {
    player_damp(h, at_s + dice_between(&h->chance, 0.0, 0.012), k, d, over_s);
  }
}

double
player_onset_s(player_hands* h, double beat_s)
{
  const double drift = h->who->drift_s * dice_bell(&h->chance);
  h->drift_s += DRIFT_SHARE * (drift - h->drift_s);
  // White noise through this one-pole keeps share / (2 - share) of its power
  const double whole = sqrt((2.0 - DRIFT_SHARE) / DRIFT_SHARE);
  return performance_start_s() + beat_s + h->who->late_s + whole * h->drift_s +
         h->who->scatter_s * dice_bell(&h->chance);
}

static string_stroke
stroke_of(player_hands* h, double force, double where_m)
{
  // From a touch of 0.4 mm to a blow of 2.4 mm that throws the string on the
  // frets.  A hard stroke bends the pick to where it slips at once: its release
  // falls from 85 us to 6, and it scrapes more: fitted to the spectra of
  // recorded notes at three strengths.
  dice*         d = &h->chance;
  const double  f = force * (1.0 + 0.07 * dice_bell(d));
  string_stroke s = {.height_m = 4.0e-4 + 2.3e-3 * f * f * f};
  s.position_m    = where_m * (1.0 + 0.07 * dice_bell(d));
  s.release_s = 1.03e-4 * rp_exp(-3.15 * f * f) * dice_between(d, 0.8, 1.25);
  s.hold_s    = (7.5e-3 - 4.0e-3 * f) * dice_between(d, 0.8, 1.25);
  s.angle     = dice_between(d, -0.2, 0.2);
  s.scrape    = dice_between(d, 0.03, 0.09) * (1.0 + 12.0 * f * f * f);
  return s;
}

void
player_pluck(player_hands* h,
             double        at_s,
             uint32_t      string,
             int           fret,
             double        force,
             double        where_m)
{
  const string_stroke s = stroke_of(h, force, where_m);
  // A finger pulls a string sharp rather than flat
  const double finger = fret > 0 ? 1.5 + 1.2 * dice_bell(&h->chance) : 0.0;
  player_add(h, (gesture){.at_s   = at_s - s.hold_s,
                          .kind   = GESTURE_PLUCK,
                          .string = string,
                          .value  = fret,
                          .cents  = h->who->cents[string] + finger,
                          .stroke = s});
  h->held[string] = fret;
}

// qsort() leaves the order of equals open, and the sound must not depend on it
static int
by_time(const void* a, const void* b)
{
  const gesture* x = (const gesture*)a;
  const gesture* y = (const gesture*)b;
  if (x->at_s != y->at_s) {
    return x->at_s < y->at_s ? -1 : 1;
  }
  if (x->string != y->string) {
    return x->string < y->string ? -1 : 1;
  }
  return (int)y->kind - (int)x->kind; // Hands first, then the pick
}

void
player_finish(player_hands* h)
{
  const double end_s = SCORE_BARS * 4.0 * SCORE_BEAT_S + RING_OUT_S;
  player_damp_all(h, performance_start_s() + end_s, STOP, 0.060);
  qsort(h->out->list, h->out->n, sizeof(gesture), by_time);
}
