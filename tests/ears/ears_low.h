// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// How much a chain lifts the bass where it piles up

#ifndef TESTS_EARS_EARS_LOW_H
#define TESTS_EARS_EARS_LOW_H

#include <stddef.h>

/// Rise of 60 to 160 Hz against the rest from `in` to `out`, in dB: over the
/// quarter of the playing (windows of 400 ms within 20 dB of the loudest) in
/// which `in` itself has most of it, as in palm-muted bars.  NAN if it has
/// hardly any there, 20 dB less than of the rest.
double
ears_low_rise_db(const float* in, const float* out, size_t n);

#endif // TESTS_EARS_EARS_LOW_H
