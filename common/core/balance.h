// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Keeps a stereo image where it is while both channels are distorted.
///
/// A curve takes more from the louder channel, so that a source off the centre
/// wanders to the other side, by as many dB as the curve compresses.  So the
/// balance between the channels is removed before the curve and restored after
/// it:
///
///   y = r f(x / r),   r = level of this channel re the louder one,
///
/// This drives both channels alike; for a source anywhere between left and
/// right it gives the louder channel's sound at this channel's level.  A signal
/// too small to be bent passes with the same gain whatever r is: nothing quiet
/// is lifted.  Equal channels, and the louder of two, have an r of exactly 1.
///
/// Levels are mean squares held with a release of 100 ms, raised in 2 ms.  Both
/// are of first degree in power: a source that only differs in level between
/// the channels keeps its r without ripple, however it is played.  In silence r
/// stays.  r is at least -24 dB.  Our choice; real-time safe.

#ifndef COMMON_CORE_BALANCE_H
#define COMMON_CORE_BALANCE_H

#include "delay.h"
#include "glide.h"

#define BALANCE_LEAST_DB (-24.0)

/// Room for the delay between the two ends, plus CONTROL_FRAMES
#define BALANCE_FRAMES 512

#define BALANCE_MAX_LATENCY (BALANCE_FRAMES - CONTROL_FRAMES)

_Static_assert(DELAY_HOLDS(BALANCE_FRAMES, BALANCE_MAX_LATENCY),
               "A power of two");

typedef struct {
  uint32_t n_channels;
  float    attack, release;    ///< Shares per frame
  float    held[MAX_CHANNELS]; ///< Power after the release
  float    power[MAX_CHANNELS];
  ramp     r[MAX_CHANNELS];
  uint32_t uneven;             ///< Frames until `past` is all 1
  delay    past[MAX_CHANNELS]; ///< Values of r
  float    memory[MAX_CHANNELS][BALANCE_FRAMES];
} balance;

void
balance_init(balance* b, double rate_hz, uint32_t n_channels);

void
balance_reset(balance* b);

/// Aims r for the present balance; call on each grid line
void
balance_control(balance* b);

/// Follows the next `n` frames of input; call before the other two
void
balance_listen(balance* b, const float* const* in, uint32_t n);

/// Removes the balance from the `n` frames listened to last: x / r
void
balance_take(const balance* b, float* const* x, uint32_t n);

/// Restores it in the output, which comes `latency` frames later (at most
/// BALANCE_MAX_LATENCY, which each stage asserts of its own): r x
void
balance_give(const balance* b, float* const* x, uint32_t latency, uint32_t n);

#endif // COMMON_CORE_BALANCE_H
