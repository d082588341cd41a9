// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// How a reverberation falls, pitch by pitch: backward integration of the
/// answer to a click in third-octaves (M. R. Schroeder, J. Acoust. Soc. Am. 37
/// (1965) 409; ISO 3382-1, 5.3.3).  The answer runs through the filter
/// backwards, so that the filter's own ringing hides no short decay (F.
/// Jacobsen, J. H. Rindel, J. Sound Vib. 117 (1987) 187).
///
/// Runs on the worker thread, at PROBE_RATE_HZ.

#ifndef PLUGINS_WINDOW_PICTURES_BANDS_H
#define PLUGINS_WINDOW_PICTURES_BANDS_H

#include <stdint.h>

/// Between two points of a fall: 5 ms
enum { BAND_HOP = 240, BAND_MOST_HOPS = 2048 };

typedef struct {
  float    db[BAND_MOST_HOPS]; ///< What is still to come, per Hz
  uint32_t n;
  float    decay_s; ///< By 60 dB, from -5 to -25 dB; NaN: there is no fall
} band_fall;

/// Measures n frames of an answer in the third-octave round a frequency
void
band_measure(const float* x, uint32_t n, double hz, band_fall* f);

/// Returns when a level is reached: straight on at the decay where the answer
/// was cut off.  0 if it begins below; NaN if there is no fall.
float
band_time_of(const band_fall* f, float db);

#endif // PLUGINS_WINDOW_PICTURES_BANDS_H
