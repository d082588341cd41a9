// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// What both hands do to one string between two strokes: fret, slide, bend,
/// vibrato, and damping.  Moves once per STRING_CONTROL_FRAMES.

#ifndef PRESETS_DEMO_GUITAR_STRING_HANDS_H
#define PRESETS_DEMO_GUITAR_STRING_HANDS_H

#include "string_filters.h"

#define STRING_CONTROL_FRAMES 32

typedef struct {
  double rate_hz;
  double cents;                    ///< Error of tuning
  double fret, fret_from, fret_to; ///< In semitones above the open string
  double fret_at, fret_step;       ///< 0..1
  double bend, bend_from, bend_to; ///< In cents
  double bend_at, bend_step;       ///< 0..1
  double shake, shake_depth;       ///< Vibrato, in cents
  double shake_phase, shake_step;  ///< In rad
  string_damping damping, damping_mid, damping_to;
  double         damping_share;
} string_hands;

void
string_hands_init(string_hands* h, double rate_hz);

/// Stops the string anew, without bend or vibrato
void
string_hands_fret(string_hands* h, double fret, double cents);

/// Slides, hammers or pulls to a fret within `over_s`
void
string_hands_slide(string_hands* h, double fret, double over_s);

/// Bends to `cents` within `over_s`
void
string_hands_bend(string_hands* h, double cents, double over_s);

/// Starts a vibrato, which only raises: 0..depth_cents, growing over two swings
void
string_hands_vibrato(string_hands* h, double depth_cents, double f_hz);

/// Lays hands on the string (0, 0: takes them off) within about `over_s`
void
string_hands_damp(string_hands* h, string_damping damping, double over_s);

/// Moves on by one control period
void
string_hands_move(string_hands* h);

/// Returns the pitch, in cents above the open string
double
string_hands_cents(const string_hands* h);

#endif // PRESETS_DEMO_GUITAR_STRING_HANDS_H
