// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Levels of a sound, in dB re a sample of 1.0

#ifndef TESTS_EARS_EARS_LEVEL_H
#define TESTS_EARS_EARS_LEVEL_H

#include <stddef.h>

/// Of the playing alone: the gated RMS of level_meter.h; -INFINITY of silence
double
ears_gated_db(const float* x, size_t n);

double
ears_rms_db(const float* x, size_t n);

double
ears_peak_db(const float* x, size_t n);

/// Peak less gated RMS
double
ears_crest_db(const float* x, size_t n);

/// How far the level of the playing ranges: the tenth to the ninetieth
/// percentile of windows of 400 ms, one every 100 ms, that are less than 30 dB
/// below the loudest
double
ears_spread_db(const float* x, size_t n);

/// The value below which a share (0..1) of `n` values lies; sorts them.  NAN of
/// none.
double
ears_percentile(double* values, size_t n, double share);

#endif // TESTS_EARS_EARS_LEVEL_H
