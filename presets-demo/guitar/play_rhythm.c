// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "player_hands.h"

#include <stddef.h>

#define STEP_S (SCORE_BEAT_S / 4.0)
#define BAR_S  (SCORE_BEAT_S * 4.0)

static int
fret_of(const score_chord* c, uint32_t k)
{
  const char f = c->frets[k];
  return f == 'x' ? PLAYER_NO_FRET : f >= 'a' ? f - 'a' + 10 : f - '0';
}

// A finger slips along a wound string
static void
squeak(player_hands* h, double at_s, uint32_t k)
{
  gesture g = {.at_s = at_s, .kind = GESTURE_RUB, .string = k};
  g.value   = dice_between(&h->chance, 0.002, 0.008);
  g.hz      = dice_between(&h->chance, 1200.0, 3200.0);
  g.over_s  = dice_between(&h->chance, 0.03, 0.09);
  player_add(h, g);
}

// Fingers leave the strings whose fret changes, a little before the next chord
static void
change_chord(player_hands* h, double at_s, const score_chord* c)
{
  for (uint32_t k = 0; k < N_STRINGS; ++k) {
    if (h->held[k] == PLAYER_NO_FRET || h->held[k] == fret_of(c, k)) {
      continue;
    }
    const double early_s = dice_between(&h->chance, 0.030, 0.065);
    player_damp(h, at_s - early_s, k, HAND_LIFT,
                dice_between(&h->chance, 0.010, 0.025));
    if (k < 3 && h->held[k] > 0 && dice_uniform(&h->chance) < 0.35) {
      squeak(h, at_s - early_s, k);
    }
    h->held[k] = PLAYER_NO_FRET;
  }
}

static void
palm(player_hands* h, double at_s, uint32_t k, bool on)
{
  const double w = h->who->palm * dice_between(&h->chance, 0.75, 1.3);
  player_damp(h, at_s - 0.012, k,
              on ? (string_damping){HAND_PALM.low * w, HAND_PALM.high * w}
                 : HAND_OFF,
              0.010);
}

// Strings from..to of a chord, one after the other, each weaker than the last
static void
strum(player_hands*      h,
      double             at_s,
      const score_chord* c,
      int                from,
      int                to,
      double             force,
      bool               muted)
{
  const int    way   = to >= from ? 1 : -1;
  const double where = muted ? 0.075 : h->who->pick_m;
  const double hurry = 1.25 - 0.6 * force;
  const double hit = muted ? 1.2 * force : force; // The palm absorbs some of it
  const double step_s =
    h->who->spread_s / 5.0 * hurry * dice_between(&h->chance, 0.8, 1.25);
  double t = at_s;
  for (int i = from; i != to + way; i += way) {
    const uint32_t k    = (uint32_t)i;
    const int      fret = fret_of(c, k);
    if (fret == PLAYER_NO_FRET) {
      continue;
    }
    const double done = fabs((double)(i - from)) / 5.0;
    palm(h, t, k, muted);
    player_pluck(h, t, k, fret, hit * (1.0 - 0.22 * done), where);
    t += step_s * dice_between(&h->chance, 0.7, 1.3);
  }
}

static int
lowest(const score_chord* c)
{
  int k = 0;
  while (k < N_STRINGS - 1 && fret_of(c, (uint32_t)k) == PLAYER_NO_FRET) {
    ++k;
  }
  return k;
}

// A stroke across strings that the left hand has deadened
static void
scratch(player_hands* h, double at_s, const score_chord* c, double force)
{
  player_damp_all(h, at_s - 0.020, HAND_DEAD, 0.008);
  for (uint32_t k = 1; k < N_STRINGS; ++k) {
    const int fret = fret_of(c, k);
    player_pluck(h, at_s + 0.003 * k, k, fret > 0 ? fret : 5, force,
                 h->who->pick_m);
    h->held[k] = PLAYER_NO_FRET;
  }
}

static void
play_step(player_hands*      h,
          double             at_s,
          const score_chord* c,
          char               what,
          double             force)
{
  const int low = lowest(c);
  switch (what) {
    case 'D':
      strum(h, at_s, c, 0, 5, force, false);
      break;
    case 'U':
      strum(h, at_s, c, 5, 1, 0.9 * force, false);
      break;
    case 'd':
      strum(h, at_s, c, low, low + 2, force, false);
      break;
    case 'u':
      strum(h, at_s, c, 5, 3, 0.9 * force, false);
      break;
    case 'm':
      strum(h, at_s, c, low, low, force, true);
      break;
    case 'M':
      for (uint32_t k = 0; k < N_STRINGS; ++k) {
        palm(h, at_s, k, true);
      }
      strum(h, at_s, c, low, low + 2, force, true);
      break;
    case 'x':
      scratch(h, at_s, c, force);
      break;
    case '-':
      player_damp_all(h, at_s, HAND_LIFT, 0.015);
      break;
    case '.':
      break;
    default:
      strum(h, at_s, c, '6' - what, '6' - what, force, false);
  }
}

void
performance_of_rhythm(performance* p, const player* who, const score_bar* bars)
{
  player_hands       h   = player_hands_of(p, who);
  const score_chord* now = NULL;
  for (uint32_t b = 0; b < SCORE_RHYTHM_BARS; ++b) {
    for (uint32_t i = 0; i < SCORE_STEPS; ++i) {
      const score_bar*   bar  = &bars[b];
      const score_chord* next = i < bar->change ? &bar->chord : &bar->second;
      if (bar->steps[i] == '.') {
        continue;
      }
      const double at_s = player_onset_s(&h, b * BAR_S + i * STEP_S);
      if (next != now) {
        change_chord(&h, at_s, next);
        now = next;
      }
      play_step(&h, at_s, next, bar->steps[i], (bar->force[i] - '0') / 9.0);
    }
  }
  player_finish(&h);
}
