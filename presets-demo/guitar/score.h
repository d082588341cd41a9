// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// "Low Tide": 96 beats a minute, E minor, twelve bars of 4/4 and a last chord.
/// A piece of our own, written to walk a signal chain through its range: four
/// quiet bars, four open ones, four heavy ones.

#ifndef PRESETS_DEMO_GUITAR_SCORE_H
#define PRESETS_DEMO_GUITAR_SCORE_H

#include "string_design.h"

#define SCORE_BEAT_S         0.625
#define SCORE_COUNT_IN_BEATS 1
#define SCORE_BARS           12
#define SCORE_STEPS          16 ///< Sixteenths in a bar

/// Frets, low E first; '0'..'9', 'a'.. = 10.., 'x' is not played
typedef struct {
  char frets[N_STRINGS + 1];
} score_chord;

/// One bar of a rhythm part.  `steps`, one letter per sixteenth:
///   '1'..'6'  one string let ring, 6 is the low E (as players count)
///   'm'       lowest string of the chord, palm-muted
///   'M'       lowest three strings of the chord, palm-muted
///   'D' 'U'   all strings of the chord, downwards, upwards
///   'd' 'u'   the lower half of the chord downwards, the upper half upwards
///   'x'       stroke across strings the left hand has deadened
///   '-'       everything off
///   '.'       ring on
/// `force`: '0'..'9' for each step.  The second chord enters at `change`.
typedef struct {
  score_chord chord, second;
  uint16_t    change; ///< A step; SCORE_STEPS: no second chord
  char        steps[SCORE_STEPS + 1];
  char        force[SCORE_STEPS + 1];
} score_bar;

/// SCORE_BARS bars and the last chord
#define SCORE_RHYTHM_BARS (SCORE_BARS + 1)

/// The same part as two players play it
extern const score_bar score_rhythm_left[SCORE_RHYTHM_BARS];
extern const score_bar score_rhythm_right[SCORE_RHYTHM_BARS];

typedef enum {
  LEAD_PICK,
  LEAD_SLIDE, ///< Picked `by` frets below (above if negative), slid to the fret
  LEAD_BEND,  ///< Picked, then bent up by `by` semitones
  LEAD_RELEASE, ///< The same, and let down again halfway through the note
  LEAD_HAMMER,  ///< Not picked: hammered or pulled from the note before
  LEAD_REST
} score_touch;

/// One note of the lead
typedef struct {
  double      beat;   ///< From the first beat of bar 1, at 0
  double      beats;  ///< Length
  uint32_t    string; ///< 0 is the low E
  uint32_t    fret;
  double      force; ///< 0..1
  score_touch touch;
  double      by;
  double      vibrato_cents;
} score_note;

extern const uint32_t   score_lead_notes;
extern const score_note score_lead[];

#endif // PRESETS_DEMO_GUITAR_SCORE_H
