// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Recording on tape: saturation that the treble reaches first, and the losses
/// of one pass (tape_pass.h).
///
/// Record equalisation lifts the treble before a hyperbolic tangent, and its
/// exact inverse takes the lift back afterwards; so quiet sound passes
/// unchanged, and at 10 kHz 11 dB less is enough to saturate.  DIN 45 500 sheet
/// 4 allows 15 dB and calls the level with 3 % third harmonic at 333 Hz full
/// level: here a sine of TAPE_FULL_LEVEL.  The tangent runs at four times the
/// rate (common/filters/oversample.h).  Real-time safe except for init.

#ifndef COMMON_TAPE_TAPE_RECORD_H
#define COMMON_TAPE_TAPE_RECORD_H

#include "common/filters/one_pole.h"
#include "common/filters/oversample.h"
#include "tape_pass.h"

/// Peak of a sine of 333 Hz with 3 % third harmonic after the de-emphasis
/// (computed)
#define TAPE_FULL_LEVEL 0.650

/// A shelf of first order
typedef struct {
  float    b0;
  one_pole pole;
} tape_shelf;

/// The part that the channels share
typedef struct {
  uint32_t   factor;     ///< Factor of oversampling
  tape_shelf lift, sink; ///< Inverse to each other
  tape_pass  pass;
} tape_machine;

/// One channel
typedef struct {
  one_pole_memory lift, sink;
  oversampler     over;
  float           past[TAPE_MAX_TAPS + CONTROL_FRAMES + 16];
} tape_track;

void
tape_machine_init(tape_machine* m, tape_limits limits, double rate_hz);

/// Returns the latency of the whole recording, in frames
double
tape_machine_latency(const tape_machine* m);

bool
tape_track_init(const tape_machine* m, tape_track* t);

void
tape_track_reset(tape_track* t);

/// Records `n` frames, in place
void
tape_track_process(const tape_machine* m, tape_track* t, float* x, uint32_t n);

#endif // COMMON_TAPE_TAPE_RECORD_H
