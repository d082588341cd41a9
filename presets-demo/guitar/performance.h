// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// The score as played: timed gestures, with human inaccuracy.
///
/// A player is a seed and a few habits.  Onsets wander around the beat (a slow
/// drift and a scatter of some ms), no two strokes are equally hard, a chord is
/// struck string by string within 10 to 30 ms, fingers leave the old chord
/// before the new one, and each string is a few cents off.  Figures are our
/// choice, of the size reported for studio players (about 5 to 15 ms) [from
/// memory].

#ifndef PRESETS_DEMO_GUITAR_PERFORMANCE_H
#define PRESETS_DEMO_GUITAR_PERFORMANCE_H

#include "plucked_string.h"
#include "score.h"

typedef enum {
  GESTURE_PLUCK,
  GESTURE_DAMP,
  GESTURE_SLIDE,
  GESTURE_BEND,
  GESTURE_VIBRATO,
  GESTURE_RUB
} gesture_kind;

/// One movement of one hand on one string
typedef struct {
  double         at_s;
  gesture_kind   kind;
  uint32_t       string;
  double         value;  ///< Fret; cents of bend and vibrato; level of a rub
  double         over_s; ///< Duration
  double         hz;     ///< Of vibrato and rub
  double         cents;  ///< Tuning error of string and finger
  string_stroke  stroke;
  string_damping hands;
} gesture;

/// Habits of a player
typedef struct {
  uint64_t seed;
  double   scatter_s;        ///< Standard deviation of onsets
  double   drift_s;          ///< Slow wander around the beat
  double   late_s;           ///< Behind the beat on average
  double   spread_s;         ///< First to last string of a full strum
  double   pick_m;           ///< Where the pick strikes, from the bridge
  double   palm;             ///< Weight of the palm, 1 is usual
  double   cents[N_STRINGS]; ///< How far each string is out of tune
} player;

#define MAX_GESTURES 4096

typedef struct {
  uint32_t n;
  gesture  list[MAX_GESTURES]; ///< In order of time
} performance;

/// Seconds from the start of the file to bar 1
double
performance_start_s(void);

void
performance_of_rhythm(performance* p, const player* who, const score_bar* bars);

void
performance_of_lead(performance* p, const player* who);

#endif // PRESETS_DEMO_GUITAR_PERFORMANCE_H
