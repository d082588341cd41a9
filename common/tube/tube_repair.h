// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// What comes behind the last triode stage at the inner rate: makes good the
/// treble that the mean over a sample takes, turns the polarity back, and fills
/// up the delay, so that any number of stages is equally late.
///
/// The mean of two neighbours is a factor cos(w/2) per stage and half a sample.
/// With x = sin^2(w/2), 1 / cos^s(w/2) is a power series in x; three terms of
/// it are within 0.04 dB up to 20 kHz at 192 kHz, 0.5 dB at 96 kHz.  An odd
/// number of stages gets one more mean, for a whole delay.  Real-time safe.

#ifndef COMMON_TUBE_TUBE_REPAIR_H
#define COMMON_TUBE_TUBE_REPAIR_H

#include "common/filters/oversample.h"

#define TUBE_REPAIR_TAPS 6

/// Longest delay behind the filter, in samples
#define TUBE_REPAIR_FILL 12

/// How one is made: equal for all channels
typedef struct {
  float    taps[TUBE_REPAIR_TAPS];
  uint32_t fill; ///< Delay in samples, beyond that of the filter
} tube_repair;

/// What came before, of one channel
typedef struct {
  float line[TUBE_REPAIR_TAPS + TUBE_REPAIR_FILL];
} tube_repair_memory;

/// Samples that `n_stages` stages (1 to 3) and their filter are late
uint32_t
tube_repair_delay(uint32_t n_stages);

/// For `n_stages` stages, `fill` samples (at most TUBE_REPAIR_FILL) later
tube_repair
tube_repair_make(uint32_t n_stages, uint32_t fill);

/// `n` samples, at most OVERSAMPLE_MAX_SAMPLES
void
tube_repair_process(const tube_repair*  r,
                    tube_repair_memory* memory,
                    const double*       in,
                    float*              out,
                    uint32_t            n);

#endif // COMMON_TUBE_TUBE_REPAIR_H
