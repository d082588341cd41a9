// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// What the single notes of the demo's guitar have in common at one strength,
/// over frets 2 and 7 of all strings

#ifndef TESTS_EARS_EARS_STRENGTH_H
#define TESTS_EARS_EARS_STRENGTH_H

#include "ears_partials.h"
#include "presets-demo/guitar/string_design.h"

#define EARS_TONE_S       1.5 ///< Spectrum and crest: from the onset
#define EARS_N_FRETS      2
#define EARS_N_T60        5
#define EARS_MAX_OF_NOTES (N_STRINGS * EARS_N_FRETS * EARS_MAX_PARTIALS)

extern const unsigned ears_frets[EARS_N_FRETS];

/// Thirds re the one at 1 kHz, less the interface's noise; slope from 4 to 8
/// kHz in dB/oct; crest; ripple of the decay above 200 Hz
typedef enum {
  EARS_4K,
  EARS_5K,
  EARS_6K3,
  EARS_8K,
  EARS_10K,
  EARS_SLOPE,
  EARS_CREST,
  EARS_RIPPLE,
  EARS_N_TONE
} ears_tone;

/// T60 of partials is a median over each of these ranges of frequency
typedef struct {
  double from_hz, to_hz;
} ears_range;

extern const ears_range ears_t60_ranges[EARS_N_T60];

typedef struct {
  double tone[EARS_N_TONE];        ///< Means in dB; of the ripple the median
  double t60_s[EARS_N_T60];        ///< Medians
  double inharmonicity[N_STRINGS]; ///< Mean, in % off the formula
} ears_strength;

/// `force` is 0..1
ears_strength
ears_strength_of(double force);

#endif // TESTS_EARS_EARS_STRENGTH_H
