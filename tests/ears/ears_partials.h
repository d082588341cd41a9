// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// What a single note's partials tell of a string: how long each rings, how its
/// decay ripples, and how far they are from harmonic

#ifndef TESTS_EARS_EARS_PARTIALS_H
#define TESTS_EARS_EARS_PARTIALS_H

#include <stdbool.h>
#include <stddef.h>

#define EARS_MAX_PARTIALS 96

typedef struct {
  double hz;
  double t60_s;     ///< Of a straight line through the decay, in dB
  double ripple_db; ///< RMS of the decay around that line
} ears_partial;

typedef struct {
  size_t       n;
  ears_partial partials[EARS_MAX_PARTIALS]; ///< Those that can be measured
  double       inharmonicity; ///< B of f_n = n f0 sqrt(1 + B n^2); NAN: unknown
} ears_partials;

/// Of a note with a first partial of about `f1_hz` and an inharmonicity of
/// about `guess`.  Each partial is looked for within a quarter of the distance
/// to the next one, in the spectrum of the first 1.4 s; then its level is
/// followed by Hann windows of 100 ms, from 0.15 s after the beginning until it
/// has fallen by 40 dB or meets the floor, 3 s at most.  One that leaves less
/// than 0.4 s to measure is left out.  B is the least-squares fit of (f_n /
/// n)^2 over n^2, up to partial 20.
ears_partials
ears_partials_of(const float* x, size_t n, double f1_hz, double guess);

#endif // TESTS_EARS_EARS_PARTIALS_H
