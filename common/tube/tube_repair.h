// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Follows the last triode stage at the inner rate: restores the treble that
/// the mean over a sample takes, turns the polarity back, and pads the delay,
/// so that it is the same for any number of stages.
///
/// The mean of two neighbours is a factor cos(w/2) per stage and half a sample.
/// With x = sin^2(w/2), 1 / cos^s(w/2) is a power series in x; three terms of
/// it are within 0.04 dB up to 20 kHz at 192 kHz, 0.5 dB at 96 kHz.  An odd
/// number of stages gets one more mean, for a whole delay.  Real-time safe.

#ifndef COMMON_TUBE_TUBE_REPAIR_H
#define COMMON_TUBE_TUBE_REPAIR_H

#include "common/filters/oversample.h"

#define TUBE_REPAIR_TAPS 6

/// Longest delay after the filter, in samples
#define TUBE_REPAIR_FILL 12

/// Its design, equal for all channels
typedef struct {
  float    taps[TUBE_REPAIR_TAPS];
  uint32_t fill; ///< Delay in samples, beyond that of the filter
} tube_repair;

/// Past samples of one channel
typedef struct {
  float line[TUBE_REPAIR_TAPS + TUBE_REPAIR_FILL];
} tube_repair_memory;

/// Returns the delay of `n_stages` stages (1 to 3) and their filter, in samples
uint32_t
tube_repair_delay(uint32_t n_stages);

/// Designs one for `n_stages` stages that delays by `fill` samples more (at
/// most TUBE_REPAIR_FILL)
tube_repair
tube_repair_make(uint32_t n_stages, uint32_t fill);

/// Filters `n` samples, at most OVERSAMPLE_MAX_SAMPLES
void
tube_repair_process(const tube_repair*  r,
                    tube_repair_memory* memory,
                    const double*       in,
                    float*              out,
                    uint32_t            n);

#endif // COMMON_TUBE_TUBE_REPAIR_H
