// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Sounds without infrasound, and the settings of each stage that might make
/// some of it: by test_under_the_hearing.c and ./dev ears

#ifndef TESTS_SUPPORT_UNDER_ROWS_H
#define TESTS_SUPPORT_UNDER_ROWS_H

#include "common/core/dsp.h"

#include <stddef.h>

typedef struct {
  const char* stem;
  const char* settings; ///< settings.h; the rest at its defaults
} under_row;

/// Defaults, and each control that bends the signal at its ends
static const under_row under_rows[] = {
  {"di-cleanup", "gain_db=24"},
  {"input-compressor", ""},
  {"input-compressor", "edge_pc=0"},
  {"input-compressor", "edge_pc=100 threshold_db=0"},
  {"input-compressor", "edge_pc=100 threshold_db=-60 ratio=20"},
  {"input-compressor", "edge_pc=100 blend_pc=50"},
  {"input-compressor", "edge_pc=100 timing=1 attack_ms=0.1 release_ms=10"},
  {"input-compressor",
   "edge_pc=100 timing=1 attack_ms=0.1 release_ms=10 threshold_db=-60 "
   "ratio=20"},
  {"tube-stage", ""},
  {"tube-stage", "drive_db=-12 blend_pc=100"},
  {"tube-stage", "drive_db=48 blend_pc=100"},
  {"tube-stage", "drive_db=48 stages=0 blend_pc=100"},
  {"tube-stage", "drive_db=48 stages=2 blend_pc=100"},
  {"tube-stage", "drive_db=48 stages=0 bias_pc=-100"},
  {"tube-stage", "drive_db=48 stages=0 bias_pc=100"},
  {"tube-stage", "drive_db=48 stages=2 bias_pc=-100 sag_pc=100"},
  {"tube-stage", "drive_db=48 stages=2 bias_pc=100 sag_pc=100"},
  {"tube-stage", "drive_db=30 stages=1 bias_pc=-100 blend_pc=100"},
  {"thickening-echo", ""},
  {"thickening-echo", "drive_db=24"},
  {"thickening-echo", "drive_db=24 low_cut_hz=20 wet_db=6 dry=1"},
  {"thickening-echo", "drive_db=24 low_cut_hz=20 wet_db=6 repeats_pc=90"},
  {"thickening-echo", "drive_db=0 low_cut_hz=20 wet_db=6 flutter_pc=1 dry=1"},
  {"speaker-breakup", ""},
  {"speaker-breakup", "cabinet=0"},
  {"speaker-breakup", "drive_db=24 breakup_db=0 mix_pc=100"},
  {"speaker-breakup", "breakup_db=36 mix_pc=100"},
  {"speaker-breakup", "breakup_db=36 mix_pc=100 cabinet=0"},
  {"speaker-breakup", "drive_db=24 breakup_db=36 mix_pc=100 feedback_pc=95"},
  {"speaker-breakup",
   "drive_db=24 breakup_db=36 mix_pc=100 feedback_pc=95 cabinet=0"},
  {"speaker-breakup",
   "drive_db=24 breakup_db=36 mix_pc=100 feedback_pc=0 squeeze_db=12 "
   "attack_ms=0.5 release_ms=20 cabinet=0"},
  {"speaker-breakup", "drive_db=24 mix_pc=0 source_ohm=32 back=1 cone=3"},
  {"proximity-lift", ""},
  {"proximity-lift", "distance_cm=1 pattern=5 source_cm=0"},
  {"proximity-lift",
   "distance_cm=1 pattern=5 source_cm=0 lift_db=12 lift_below_db=-12"},
  {"air-shelf", "air_db=12 gentle_pc=100"},
};

enum { UNDER_N_ROWS = sizeof(under_rows) / sizeof(under_rows[0]) };

/// A pair of tones with a difference of 12 Hz, for even curves; one whose lower
/// tone has its second harmonic 7 Hz below the upper, for odd ones; one with a
/// difference just below 20 Hz; and playing without infrasound: swells of an
/// asymmetrical wave
enum { UNDER_PAIR, UNDER_OCTAVE, UNDER_WIDE, UNDER_WAVE, UNDER_N_SOUNDS };

static const char* const under_sounds[UNDER_N_SOUNDS] = {
  "220+232 Hz", "110+227 Hz", "330+348 Hz", "swells"};

/// Swells per s, and the harmonics of the wave
#define UNDER_SWELLS    2.0
#define UNDER_HARMONICS 6

/// Frame of a sound, -6 dBFS peak
static inline double
under_sound(int which, double time_s)
{
  static const double PAIRS[][2] = {
    {220.0, 232.0}, {110.0, 227.0}, {330.0, 348.0}};
  const double turn = 2.0 * DSP_PI * time_s;
  if (which < UNDER_WAVE) {
    return 0.25 * (sin(turn * PAIRS[which][0]) + sin(turn * PAIRS[which][1]));
  }
  // Cosines add up to a pulse in each period: the peak is all on one side
  double sum = 0.0;
  for (int k = 1; k <= UNDER_HARMONICS; ++k) {
    sum += cos(turn * 147.0 * k) / UNDER_HARMONICS;
  }
  const double swell = sin(0.5 * turn * UNDER_SWELLS);
  return 0.5 * swell * swell * sum;
}

#endif // TESTS_SUPPORT_UNDER_ROWS_H
