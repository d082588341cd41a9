// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Up and down by 2, 4 or 8 with linear-phase half-band filters, one channel.
///
/// Round trip at 48 kHz: flat to 20 kHz within 0.001 dB, images and aliases of
/// that band 103 dB down or more, and a delay of a whole number of frames, so
/// that a dry path can run beside it: 37, 41, 42 frames at 2x, 4x, 8x.  At
/// other rates all of this scales with the rate: at 44.1 kHz the clean band
/// ends at 18.4 kHz.
///
/// Use: up `n` frames into n * factor samples, work on them in place, down
/// again.  Any n from 1 to CONTROL_FRAMES; the result does not depend on how
/// the frames are cut.  Factor 1 passes through.  Real-time safe.
///
/// Work at the inner rate may have a delay of its own, in inner samples: the
/// decimators then keep another of the `factor` samples of a frame, and the
/// round trip is a whole number of frames again.  A delay of one sample costs
/// nothing.
///
/// Polyphase half-bands: P. P. Vaidyanathan, T. Q. Nguyen, "A 'trick' for the
/// design of FIR half-band filters", IEEE Trans. CAS 34(3), 1987.

#ifndef COMMON_FILTERS_OVERSAMPLE_H
#define COMMON_FILTERS_OVERSAMPLE_H

#include "common/core/dsp.h"

#define OVERSAMPLE_MAX_FACTOR 8

/// Room for one call's samples at the highest factor
#define OVERSAMPLE_MAX_SAMPLES (CONTROL_FRAMES * OVERSAMPLE_MAX_FACTOR)

/// Length of the branch that has the multipliers, for each doubling; the filter
/// has twice as many taps, minus 1
#define OVERSAMPLE_BRANCH_0 38
#define OVERSAMPLE_BRANCH_1 10
#define OVERSAMPLE_BRANCH_2 6

/// Longest round trip in frames, without a delay between: at the highest factor
#define OVERSAMPLE_MAX_LATENCY                                      \
  ((8 * (OVERSAMPLE_BRANCH_0 - 1) + 4 * (OVERSAMPLE_BRANCH_1 - 1) + \
    2 * (OVERSAMPLE_BRANCH_2 - 1) + 7) /                            \
   8)

/// Flat state: may be embedded, copied and zeroed
typedef struct {
  uint32_t factor;
  uint32_t phase; ///< Which of a frame's `factor` samples is kept

  // Between 1x and 2x (0), 2x and 4x (1), 4x and 8x (2): the input of the
  // interpolator and the two phases of that of the decimator.  Each holds past
  // samples, then room for one call.
  float up_0[OVERSAMPLE_BRANCH_0 + CONTROL_FRAMES];
  float filtered_0[OVERSAMPLE_BRANCH_0 + CONTROL_FRAMES];
  float delayed_0[OVERSAMPLE_BRANCH_0 + CONTROL_FRAMES];
  float up_1[OVERSAMPLE_BRANCH_1 + 2 * CONTROL_FRAMES];
  float filtered_1[OVERSAMPLE_BRANCH_1 + 2 * CONTROL_FRAMES];
  float delayed_1[OVERSAMPLE_BRANCH_1 + 2 * CONTROL_FRAMES];
  float up_2[OVERSAMPLE_BRANCH_2 + 4 * CONTROL_FRAMES];
  float filtered_2[OVERSAMPLE_BRANCH_2 + 4 * CONTROL_FRAMES];
  float delayed_2[OVERSAMPLE_BRANCH_2 + 4 * CONTROL_FRAMES];
} oversampler;

/// Returns the factor for a stage's `quality` (0, 1, 2 = 2, 4, 8 at 44.1 and 48
/// kHz): half of that from 64 kHz up, a quarter from 128 kHz, an eighth from
/// 256 kHz, double below 32 kHz, four times below 16 kHz, so that the inner
/// rate, and with it the aliasing, stays about the same.  1 to
/// OVERSAMPLE_MAX_FACTOR.
uint32_t
oversample_factor(uint32_t quality, double rate_hz);

/// Prepares for work without a delay at the inner rate.  True if `factor` is 1,
/// 2, 4 or 8.
bool
oversample_init(oversampler* o, uint32_t factor);

/// Prepares for work that delays by `inner_samples` at the inner rate
bool
oversample_init_delayed(oversampler* o,
                        uint32_t     factor,
                        uint32_t     inner_samples);

void
oversample_reset(oversampler* o);

/// Returns the round trip without a delay between, in frames at the outer rate
uint32_t
oversample_latency_frames(uint32_t factor);

/// Returns the round trip with `inner_samples` of delay between up and down
uint32_t
oversample_latency_frames_delayed(uint32_t factor, uint32_t inner_samples);

/// Takes n frames at `in`; writes n * factor samples to `out`, which must not
/// overlap `in`.
void
oversample_up(oversampler* o, const float* in, float* out, uint32_t n);

/// Takes n * factor samples at `in`, which it overwrites; writes n frames to
/// `out`, which may be `in`.
void
oversample_down(oversampler* o, float* in, float* out, uint32_t n);

#endif // COMMON_FILTERS_OVERSAMPLE_H
