// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Speed errors of a tape transport, and their effect on a delay between two
/// heads on it.
///
/// A record and a playback head share the transport: sound recorded a time T
/// ago comes back with a pitch error of eps(t) - eps(t - T), so a component at
/// f counts 2 |sin(pi f T)|.  The delay is T minus the integral of eps over the
/// last T; the components are sines, and so that integral is exact.
///
/// Components (our choice): 0.8, 5 and 11 Hz, and a band of sines from 1 to 20
/// Hz that stand for noise.  Their weighted sum (AES6-2008, IEC 60386) is
/// scaled so that a meter reads 1 % at an amount of 1.  Seeded constants:
/// always the same.  Real-time safe.

#ifndef COMMON_TAPE_FLUTTER_H
#define COMMON_TAPE_FLUTTER_H

#include "common/core/dsp.h"

enum { FLUTTER_PARTS = 20 };

typedef struct {
  double w[FLUTTER_PARTS];    ///< rad/s
  double size[FLUTTER_PARTS]; ///< Amplitude of the integral, in s
  double re[FLUTTER_PARTS], im[FLUTTER_PARTS];           ///< Phases now
  double turn_re[FLUTTER_PARTS], turn_im[FLUTTER_PARTS]; ///< Per grid line
  double start[FLUTTER_PARTS]; ///< Phases at the start
} flutter;

/// exp(-j w T) of each component: the way back to the time of recording
typedef struct {
  double re[FLUTTER_PARTS], im[FLUTTER_PARTS];
} flutter_lag;

/// Returns the weighting of flutter at `f_hz`, 1 at 4 Hz: three RC high-passes
/// and a low-pass that meet the standard's curve within 0.8 dB (computed)
double
flutter_weight(double f_hz);

/// Prepare all components, or (for measurements) a single one of amplitude 1 %
void
flutter_init(flutter* f, double rate_hz);

void
flutter_init_single(flutter* f, double f_hz, double rate_hz);

void
flutter_reset(flutter* f);

/// Moves on by one grid line
void
flutter_control(flutter* f);

void
flutter_lag_of(const flutter* f, double delay_s, flutter_lag* lag);

/// Returns how much later than the nominal delay the recorded sound now comes
/// back, in seconds for an amount of 1
double
flutter_late_s(const flutter* f, const flutter_lag* lag);

#endif // COMMON_TAPE_FLUTTER_H
