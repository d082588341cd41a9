// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// The motions that rhythm and lead playing share, with a player's inaccuracy.
///
/// An expression throws the dice once at most: C leaves the order of evaluation
/// within one open, and the bytes of a take must not depend on the compiler.

#ifndef PRESETS_DEMO_GUITAR_PLAYER_HANDS_H
#define PRESETS_DEMO_GUITAR_PLAYER_HANDS_H

#include "performance.h"

#define PLAYER_NO_FRET (-1)

/// Damping by a hand, in 1/s (6.9 / T60), at low and at high frequencies; our
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

/// Returns hands that rest on the strings before the piece begins
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

/// Damps all strings, within some ms
void
player_damp_all(player_hands* h, double at_s, string_damping d, double over_s);

/// Returns when the player plays a beat that the score has at `beat_s`
double
player_onset_s(player_hands* h, double beat_s);

/// Lets the pick go of the string at `at_s`; `force` is 0..1, `where_m` is from
/// the bridge
void
player_pluck(player_hands* h,
             double        at_s,
             uint32_t      string,
             int           fret,
             double        force,
             double        where_m);

/// Stops the last chord and sorts the gestures by time
void
player_finish(player_hands* h);

#endif // PRESETS_DEMO_GUITAR_PLAYER_HANDS_H
