// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "performance.h"

#include <stdlib.h>

#define STEP_S     (SCORE_BEAT_S / 4.0)
#define BAR_S      (SCORE_BEAT_S * 4.0)
#define RING_OUT_S 3.2
#define NOT_PLAYED (-1)

// Hands on a string, in 1/s (6.9 / T60), at low and high frequencies
static const string_damping OFF  = {0.0, 0.0};
static const string_damping LIFT = {45.0, 240.0};  // Left hand lets go
static const string_damping PALM = {9.0, 190.0};   // Edge of the palm
static const string_damping DEAD = {110.0, 500.0}; // Left hand lies on it
static const string_damping STOP = {28.0, 160.0};  // Both hands, at the end

typedef struct {
  performance*  out;
  const player* who;
  dice          chance;
  double        drift_s;
  int           held[N_STRINGS];  // Fret each string was last played at
  bool          muted[N_STRINGS]; // Under the palm
} hands;

static hands
hands_of(performance* out, const player* who)
{
  hands h = {.out = out, .who = who, .chance = dice_of(who->seed)};
  for (uint32_t k = 0; k < N_STRINGS; ++k) {
    h.held[k] = NOT_PLAYED;
  }
  out->n = 0;
  return h;
}

double
performance_start_s(void)
{
  return SCORE_COUNT_IN_BEATS * SCORE_BEAT_S;
}

static void
add(hands* h, gesture g)
{
  g.at_s = g.at_s < 0.0 ? 0.0 : g.at_s;
  if (h->out->n < MAX_GESTURES) {
    h->out->list[h->out->n++] = g;
  }
}

static void
damp(hands* h, double at_s, uint32_t k, string_damping d, double over_s)
{
  add(h,
      (gesture){.at_s   = at_s,
                .kind   = GESTURE_DAMP,
                .string = k,
                .hands  = d,
                .over_s = over_s});
}

// Where a player puts a beat that stands at `at_s`
static double
onset(hands* h, double at_s)
{
  h->drift_s += 0.12 * (h->who->drift_s * dice_bell(&h->chance) - h->drift_s);
  return performance_start_s() + at_s + h->who->late_s + 2.5 * h->drift_s +
         h->who->scatter_s * dice_bell(&h->chance);
}

static string_stroke
stroke_of(hands* h, double force, double position_m)
{
  // 0.2 mm for a touch, 1.6 mm for a blow.  A hard stroke leaves the pick
  // faster and is brighter.
  const double f = force * (1.0 + 0.07 * dice_bell(&h->chance));
  return (string_stroke){
    .height_m   = 2.0e-4 + 1.4e-3 * f * f,
    .position_m = position_m * (1.0 + 0.07 * dice_bell(&h->chance)),
    .release_s  = (0.75 - 0.55 * f) * 1e-3 * dice_between(&h->chance, 0.8, 1.2),
    .hold_s     = (7.5 - 4.0 * f) * 1e-3 * dice_between(&h->chance, 0.8, 1.25),
    .angle      = dice_between(&h->chance, 0.1, 0.35),
    .scrape     = dice_between(&h->chance, 0.03, 0.09)};
}

static void
pluck(hands* h, double at_s, uint32_t k, int fret, double force, double where_m)
{
  const string_stroke s = stroke_of(h, force, where_m);
  // The finger pulls a string sharp rather than flat
  const double finger = fret > 0 ? 1.5 + 1.2 * dice_bell(&h->chance) : 0.0;
  add(h,
      (gesture){.at_s   = at_s - s.hold_s,
                .kind   = GESTURE_PLUCK,
                .string = k,
                .value  = fret,
                .cents  = h->who->cents[k] + finger,
                .stroke = s});
  h->held[k] = fret;
}

static int
fret_of(const score_chord* c, uint32_t k)
{
  const char f = c->frets[k];
  return f == 'x' ? NOT_PLAYED : f >= 'a' ? f - 'a' + 10 : f - '0';
}

// Fingers leave the strings whose fret changes, a little before the next chord
static void
change_chord(hands* h, double at_s, const score_chord* c)
{
  for (uint32_t k = 0; k < N_STRINGS; ++k) {
    if (h->held[k] == NOT_PLAYED || h->held[k] == fret_of(c, k)) {
      continue;
    }
    const double early_s = dice_between(&h->chance, 0.030, 0.065);
    damp(h, at_s - early_s, k, LIFT, dice_between(&h->chance, 0.010, 0.025));
    if (h->held[k] > 0 && k < 3 && dice_uniform(&h->chance) < 0.35) {
      add(h,
          (gesture){.at_s   = at_s - early_s,
                    .kind   = GESTURE_RUB,
                    .string = k,
                    .value  = dice_between(&h->chance, 0.002, 0.008),
                    .hz     = dice_between(&h->chance, 1200.0, 3200.0),
                    .over_s = dice_between(&h->chance, 0.03, 0.09)});
    }
    h->held[k] = NOT_PLAYED;
  }
}

static void
palm(hands* h, double at_s, uint32_t k, bool on)
{
  const double w = h->who->palm * dice_between(&h->chance, 0.75, 1.3);
  damp(h,
       at_s - 0.012,
       k,
       on ? (string_damping){PALM.low * w, PALM.high * w} : OFF,
       0.010);
  h->muted[k] = on;
}

// Strings from..to of a chord, one after the other; `edge` is how much weaker
// the last one is struck
static void
strum(hands*             h,
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
  const double step_s =
    h->who->spread_s / 5.0 * hurry * dice_between(&h->chance, 0.8, 1.25);
  double t = at_s;
  for (int i = from; i != to + way; i += way) {
    const uint32_t k    = (uint32_t)i;
    const int      fret = fret_of(c, k);
    if (fret == NOT_PLAYED) {
      continue;
    }
    const double done = fabs((double)(i - from)) / 5.0;
    palm(h, t, k, muted);
    pluck(h, t, k, fret, force * (1.0 - 0.22 * done), where);
    t += step_s * dice_between(&h->chance, 0.7, 1.3);
  }
}

static void
stop(hands* h, double at_s, string_damping d, double over_s)
{
  for (uint32_t k = 0; k < N_STRINGS; ++k) {
    damp(h, at_s + dice_between(&h->chance, 0.0, 0.012), k, d, over_s);
  }
}

static int
lowest(const score_chord* c)
{
  int k = 0;
  while (k < N_STRINGS - 1 && fret_of(c, (uint32_t)k) == NOT_PLAYED) {
    ++k;
  }
  return k;
}

// A stroke over strings the left hand has taken the tone from
static void
scratch(hands* h, double at_s, const score_chord* c, double force)
{
  stop(h, at_s - 0.020, DEAD, 0.008);
  for (uint32_t k = 1; k < N_STRINGS; ++k) {
    const int fret = fret_of(c, k);
    pluck(h, at_s + 0.003 * k, k, fret > 0 ? fret : 5, force, h->who->pick_m);
    h->held[k] = NOT_PLAYED;
  }
}

static void
play_step(hands* h, double at_s, const score_chord* c, char what, double force)
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
      stop(h, at_s, LIFT, 0.015);
      break;
    case '.':
      break;
    default:
      strum(h, at_s, c, '6' - what, '6' - what, force, false);
  }
}

static int
by_time(const void* a, const void* b)
{
  const gesture* x = (const gesture*)a;
  const gesture* y = (const gesture*)b;
  if (x->at_s != y->at_s) {
    return x->at_s < y->at_s ? -1 : 1;
  }
  // qsort() keeps no order among equals, which must not decide the sound
  return x->string != y->string ? (x->string < y->string ? -1 : 1)
         : x->kind == y->kind   ? 0
         : x->kind < y->kind    ? 1
                                : -1;
}

static void
finish(hands* h, double end_s)
{
  stop(h, end_s, STOP, 0.060);
  qsort(h->out->list, h->out->n, sizeof(gesture), by_time);
}

void
performance_of_rhythm(performance* p, const player* who, const score_bar* bars)
{
  hands              h   = hands_of(p, who);
  const score_chord* now = NULL;
  for (uint32_t b = 0; b < SCORE_RHYTHM_BARS; ++b) {
    for (uint32_t i = 0; i < SCORE_STEPS; ++i) {
      const score_bar*   bar  = &bars[b];
      const score_chord* next = i < bar->change ? &bar->chord : &bar->second;
      if (bar->steps[i] == '.') {
        continue;
      }
      const double at_s = onset(&h, b * BAR_S + i * STEP_S);
      if (next != now) {
        change_chord(&h, at_s, next);
        now = next;
      }
      play_step(&h, at_s, next, bar->steps[i], (bar->force[i] - '0') / 9.0);
    }
  }
  finish(&h, performance_start_s() + SCORE_BARS * BAR_S + RING_OUT_S);
}

// Everything after the onset of a note: arrive, bend, shake
static void
shape_note(hands* h, double at_s, const score_note* n)
{
  if (n->touch == LEAD_SLIDE) {
    const double over_s = dice_between(&h->chance, 0.06, 0.10);
    add(h,
        (gesture){.at_s   = at_s + 0.045,
                  .kind   = GESTURE_SLIDE,
                  .string = n->string,
                  .value  = n->fret,
                  .over_s = over_s});
  }
  if (n->touch == LEAD_BEND) {
    const double miss = 6.0 * dice_bell(&h->chance);
    add(h,
        (gesture){.at_s   = at_s + dice_between(&h->chance, 0.05, 0.09),
                  .kind   = GESTURE_BEND,
                  .string = n->string,
                  .value  = n->by * 100.0 + miss,
                  .over_s = dice_between(&h->chance, 0.14, 0.24)});
  }
  if (n->vibrato_cents > 0.0) {
    const double wait_s = n->touch == LEAD_BEND ? 0.40 : 0.24;
    add(h,
        (gesture){.at_s   = at_s + wait_s,
                  .kind   = GESTURE_VIBRATO,
                  .string = n->string,
                  .value  = n->vibrato_cents,
                  .hz     = dice_between(&h->chance, 5.0, 5.8)});
  }
}

static void
play_note(hands* h, const score_note* n)
{
  const double   at_s = onset(h, n->beat * SCORE_BEAT_S);
  const uint32_t k    = n->string;
  if (n->touch == LEAD_HAMMER) {
    const double over_s = dice_between(&h->chance, 0.008, 0.014);
    add(h,
        (gesture){.at_s   = at_s,
                  .kind   = GESTURE_SLIDE,
                  .string = k,
                  .value  = n->fret,
                  .over_s = over_s});
  } else {
    const int below = n->touch == LEAD_SLIDE ? (int)n->by : 0;
    damp(h, at_s - 0.010, k, OFF, 0.006);
    pluck(h, at_s, k, (int)n->fret - below, n->force, h->who->pick_m);
  }
  shape_note(h, at_s, n);
}

void
performance_of_lead(performance* p, const player* who)
{
  hands h = hands_of(p, who);
  for (uint32_t i = 0; i < score_lead_notes; ++i) {
    const score_note* n = &score_lead[i];
    play_note(&h, n);

    // The finger stays until the next note unless that is on the same string
    const bool last = i + 1 == score_lead_notes;
    if (!last && n[1].string != n->string) {
      const double off_s = performance_start_s() +
                           (n->beat + n->beats) * SCORE_BEAT_S +
                           dice_between(&h.chance, -0.02, 0.03);
      damp(&h, off_s, n->string, LIFT, 0.030);
    }
  }
  finish(&h, performance_start_s() + SCORE_BARS * BAR_S + RING_OUT_S);
}
