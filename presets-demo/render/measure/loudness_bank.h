// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Integrated loudness of several signals at once, by Recommendation ITU-R
/// BS.1770-5 (2023), annex 1: K-weighting, windows of 400 ms every 100 ms, two
/// gates.  Mono counts as heard from two loudspeakers, so that it compares with
/// stereo.
///
/// The channels of a bank are filtered together, four to a register, in the
/// time that one takes alone.  Memory is bounded for any length
/// (gated_mean.h).

#ifndef PRESETS_DEMO_RENDER_MEASURE_LOUDNESS_BANK_H
#define PRESETS_DEMO_RENDER_MEASURE_LOUDNESS_BANK_H

#include "signal_rows.h"

typedef struct loudness_bank loudness_bank;

/// Makes a bank for signals of 1 or 2 channels each; never returns NULL
loudness_bank*
loudness_bank_new(const uint32_t* n_channels,
                  uint32_t        n_signals,
                  double          rate_hz);

void
loudness_bank_free(loudness_bank* b);

/// Measures the next `n` rows, which are ready
void
loudness_bank_add(loudness_bank* b, const signal_rows* rows, uint32_t n);

/// Returns the loudness of a signal in LUFS; -INFINITY if no window is above
/// -70 LUFS
double
loudness_bank_lufs(const loudness_bank* b, uint32_t signal);

#endif // PRESETS_DEMO_RENDER_MEASURE_LOUDNESS_BANK_H
