// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Periodic noise with gaps in its spectrum, for a probe: it excites lines, as
/// many in each octave, and what stands between them came from the stage.  So
/// one period tells the response at a level of playing and the distortion.
///
/// The phases are random: the crest factor is about 12 dB, as of a guitar.
///
/// Multisines with gaps: R. Pintelon, J. Schoukens, System Identification (from
/// memory).

#ifndef PLUGINS_WINDOW_PICTURES_NOISE_H
#define PLUGINS_WINDOW_PICTURES_NOISE_H

#include "probe.h"

enum {
  NOISE_FRAMES    = 8192, ///< A period: lines are 5.9 Hz apart or more
  NOISE_MAX_LINES = 96,
};

typedef struct {
  uint32_t n_lines;
  float    hz[NOISE_MAX_LINES];
  float    x[NOISE_FRAMES]; ///< One period, 1 RMS
} noise;

/// Makes the period; lines beyond NOISE_MAX_LINES are left out
void
noise_make(noise* s, double lo_hz, double hi_hz, double lines_per_octave);

/// Resets, plays `settle` periods at a level and then the one that counts, into
/// `y` of NOISE_FRAMES
bool
noise_play(const noise* s, probe* p, double rms, uint32_t settle, float* y);

/// Reads an answer to noise of `rms`: writes the gain of each line in dB,
/// returns the share of all else, without 0 Hz, in % of the answer
double
noise_read(const noise* s, double rms, const float* y, float* gain_db);

#endif // PLUGINS_WINDOW_PICTURES_NOISE_H
