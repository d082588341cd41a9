// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Finds mains hum in the pauses of one channel.
///
/// Windows of 200 ms, ten periods of 50 Hz and twelve of 60 Hz, so that the
/// harmonics of both fall on bins of the transform (IEC 61000-4-7:2002 measures
/// mains harmonics like this).  From window to window the phase of a harmonic
/// tells its frequency: hum stays within the mains' tolerance (+-0.2 Hz in
/// normal operation of the European grid) and goes on from one pause to the
/// next; a low note, 49.0 Hz (G1) or 61.7 Hz (B1), does not.
///
/// What is a pause is known at the end only: sums are kept by the level of the
/// windows.  Fixed memory; any number of frames.

#ifndef PRESETS_DEMO_RENDER_TAKE_TAKE_HUM_H
#define PRESETS_DEMO_RENDER_TAKE_TAKE_HUM_H

#include <stdbool.h>
#include <stdint.h>

#define TAKE_HUM_HARMONICS 8 ///< As many as DI clean-up removes

typedef struct take_hum take_hum;

typedef struct {
  double mains_hz; ///< 50 or 60; 0 if there is no hum
  double level_db; ///< dBFS RMS of all harmonics
  double first_s;  ///< Start of the first pause in which it is
} hum_found;

take_hum*
take_hum_new(double rate_hz);

void
take_hum_free(take_hum* h);

void
take_hum_add(take_hum* h, const float* x, uint32_t n);

/// Returns whether 90 % of the windows that are not digital silence are within
/// 3 dB: noise, hum and test tones are, playing is not.  False for less than 1
/// s.
bool
take_hum_is_steady(const take_hum* h);

/// Looks for hum in the windows that are at most `below_db` and near the
/// quietest
hum_found
take_hum_find(const take_hum* h, double below_db);

#endif // PRESETS_DEMO_RENDER_TAKE_TAKE_HUM_H
