// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Takes what the loudspeaker makes below 20 Hz out of its sound.
///
/// In a box nothing of that radiates: all of the sound passes one high-pass
/// (common/filters/infra_cut.h), dry and wet share alike.  Without a cabinet
/// the phase of the bass and the delay of the whole must stay what they are.
/// Then the linear part of the output is told from the distortion, and keeps
/// what the high-pass takes: with L = 1 - high-pass,
///
///   out = y - L(y - g x),   g = <L(y) L(x)> / <L(x) L(x)>
///
/// where x is the input, delayed to match: y - g x holds nothing of x in the
/// band of L (J. J. Bussgang, "Crosscorrelation functions of
/// amplitude-distorted Gaussian signals", MIT Research Laboratory of
/// Electronics Report 216, 1952; least squares for any other signal).  g is
/// slow, or it would make infrasound itself.  Real-time safe.

#ifndef COMMON_SPEAKER_BREAKUP_CUT_H
#define COMMON_SPEAKER_BREAKUP_CUT_H

#include "common/core/delay.h"
#include "common/core/glide.h"
#include "common/filters/infra_cut.h"
#include "common/filters/oversample.h"

#define BREAKUP_CUT_LINE 128

_Static_assert(DELAY_HOLDS(BREAKUP_CUT_LINE, OVERSAMPLE_MAX_LATENCY),
               "Lines of the input");

/// One channel
typedef struct {
  delay            input;
  float            line[BREAKUP_CUT_LINE];
  infra_cut_memory of_in, of_out;
  double           both, square;           ///< Sums since the last grid line
  double           mean_both, mean_square; ///< Over SLOW_TAU_S
  double           mean;                   ///< g before its last smoothing
  ramp             g;
} breakup_cut_channel;

/// Flat, but for the pointers that init() sets
typedef struct {
  infra_cut           cut;
  double              share;
  uint32_t            n_channels, phase;
  breakup_cut_channel channel[MAX_CHANNELS];
} breakup_cut;

void
breakup_cut_init(breakup_cut* c, double rate_hz, uint32_t n_channels);

/// Forgets the signal; `gain` is g of a signal too small to be bent
void
breakup_cut_reset(breakup_cut* c, double gain);

/// Call on each grid line
void
breakup_cut_control(breakup_cut* c);

/// Takes the next `n` frames of input
void
breakup_cut_listen(breakup_cut* c, const float* const* in, uint32_t n);

/// Filters the output of the `n` frames listened to last, which comes `latency`
/// frames after them, in place.  `linear`: how much of the linear part stays
/// whole, 0 (all in a box) to 1.
void
breakup_cut_run(breakup_cut*  c,
                ramp*         linear,
                float* const* x,
                uint32_t      latency,
                uint32_t      n);

#endif // COMMON_SPEAKER_BREAKUP_CUT_H
