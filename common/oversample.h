// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Up and down by 2, 4 or 8 with linear-phase half-band filters, one channel.
///
/// Round trip at 48 kHz: flat to 20 kHz within 0.01 dB, images and aliases
/// 100 dB down or more, and a delay that is a whole number of frames
/// (oversample_latency_frames), so that a dry path can run beside it.
///
/// Use: up `n` frames into n * factor samples, work on them in place, down
/// again.  Any n from 1 to CONTROL_FRAMES; the result does not depend on how
/// the frames were cut.  Factor 1 passes through.  Real-time safe.

#ifndef COMMON_OVERSAMPLE_H
#define COMMON_OVERSAMPLE_H

#include "dsp.h"

#define OVERSAMPLE_MAX_FACTOR 8

/// Room for one call's samples at the highest factor
#define OVERSAMPLE_MAX_SAMPLES (CONTROL_FRAMES * OVERSAMPLE_MAX_FACTOR)

/// Factor for a stage's `quality` (0, 1, 2 = about 2, 4, 8 times 48 kHz): at
/// higher rates it falls, at lower ones it grows, so that the inner rate, and
/// with it the aliasing, stays.  1 to OVERSAMPLE_MAX_FACTOR.
uint32_t
oversample_factor(uint32_t quality, double rate_hz);

typedef struct oversampler oversampler;

/// True if `factor` is 1, 2, 4 or 8
bool
oversample_init(oversampler* o, uint32_t factor);

void
oversample_reset(oversampler* o);

/// Round trip, in frames at the outer rate
uint32_t
oversample_latency_frames(uint32_t factor);

/// in: n frames.  out: n * factor samples.
void
oversample_up(oversampler* o, const float* in, float* out, uint32_t n);

/// in: n * factor samples, may be overwritten.  out: n frames.
void
oversample_down(oversampler* o, float* in, float* out, uint32_t n);

// struct oversampler: flat, to be completed with the filters' memory

#endif // COMMON_OVERSAMPLE_H
