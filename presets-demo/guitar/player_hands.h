// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// The motions that rhythm and lead playing share, with the slop of a player.
///
/// One throw of the dice per expression: C leaves the order of evaluation
/// within one open, and the bytes of a take must not depend on the compiler.

#ifndef PRESETS_DEMO_PLAYER_HANDS_H
#define PRESETS_DEMO_PLAYER_HANDS_H

#include "performance.h"

#define PLAYER_NO_FRET (-1)

/// A hand on a string, in 1/s (6.9 / T60), at low and at high frequencies; our
/// choice
static const string_damping HAND_OFF  = {0.0, 0.0};
static const string_damping HAND_LIFT = {50.0, 200.0}; ///< A finger lets go
static const string_damping HAND_DEAD = {45.0, 170.0}; ///< Fingers lie on it
static const string_damping HAND_PALM = {6.5, 100.0};  ///< Edge of the palm

typedef struct {
  performance*  out;
  const player* who;
  dice          chance;
  double        drift_s;         ///< Around the beat
  int           held[N_STRINGS]; ///< Fret, or PLAYER_NO_FRET
} player_hands;

/// Hands that rest on the strings before the piece begins
player_hands
player_hands_of(performance* out, const player* who);

void
player_add(player_hands* h, gesture g);

void
player_damp(player_hands*  h,
            double         at_s,
            uint32_t       string,
            string_damping d,
            double         over_s);

/// All strings, within some ms
void
player_damp_all(player_hands* h, double at_s, string_damping d, double over_s);

/// Where the player puts a beat that stands at `beat_s` in the score
double
player_onset_s(player_hands* h, double beat_s);

/// The pick lets go of the string at `at_s`; `force` 0..1, where from the
/// bridge
void
player_pluck(player_hands* h,
             double        at_s,
             uint32_t      string,
             int           fret,
             double        force,
             double        where_m);

/// Stop the last chord and bring the gestures into order
void
player_finish(player_hands* h);

#endif // PRESETS_DEMO_PLAYER_HANDS_H
