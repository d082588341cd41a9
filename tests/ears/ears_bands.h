// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Power in third octaves and below the hearing.
///
/// Hann windows of 0.68 s, each a quarter of its length behind the last and
/// beginning before the sound does, so that every frame counts the same; their
/// power is summed into the bands of IEC 61260-1:2014, section 5.

#ifndef TESTS_EARS_EARS_BANDS_H
#define TESTS_EARS_EARS_BANDS_H

#include <stddef.h>

#define EARS_N_THIRDS 29 ///< 25 Hz to 16 kHz

typedef struct {
  double third[EARS_N_THIRDS]; ///< Mean squares
  double below_20_hz, all;
} ears_bands;

/// `n` frames
ears_bands
ears_bands_of(const float* x, size_t n);

/// Middle of a band; which band has a middle of about `hz`
double
ears_third_hz(size_t third);

size_t
ears_third_at(double hz);

double
ears_third_db(const ears_bands* b, double hz);

/// A third octave re the mean power of those at 800, 1000 and 1250 Hz
double
ears_third_re_middle_db(const ears_bands* b, double hz);

/// Straight line through the thirds from 4 to 8 kHz, in dB per octave
double
ears_slope_db(const ears_bands* b);

/// The thirds from 2 to 5 kHz re all
double
ears_edge_db(const ears_bands* b);

/// The thirds from 63 to 160 Hz re all the others
double
ears_low_share_db(const ears_bands* b);

/// |X|^2 of a Hann window, 0 to size / 2; `size` is even
void
ears_spectrum(const float* x, size_t size, double* power);

/// Sum a spectrum of a window of `size` frames into third octaves
void
ears_thirds_add(const double* power, size_t size, double* third);

/// Total harmonic distortion in %: the root of the power of harmonics 2 and up
/// to 20 kHz re that of the fundamental, +-10 Hz around each, over the last
/// 2^16 frames
double
ears_thd_pc(const float* x, size_t n, double hz);

#endif // TESTS_EARS_EARS_BANDS_H
