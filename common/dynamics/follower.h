// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Peak follower for gain reductions and envelopes.
///
/// Smooth decoupled: a peak holder with smooth release, followed by an attack
/// one-pole.  It tracks a static curve without bias and ripples least of the
/// smoothers in D. Giannoulis, M. Massberg, J. D. Reiss, "Digital Dynamic Range
/// Compressor Design", J. Audio Eng. Soc. 60(6), 2012.
///
/// Shares are those of one_pole_share(), 0 to 1.  An attack covers 63 % in the
/// attack time; a release takes the sum of both times, because the two poles
/// are in series.  The state is double: at 384 kHz a release of 2 s moves by
/// less than a float resolves.  Real-time safe.

#ifndef COMMON_DYNAMICS_FOLLOWER_H
#define COMMON_DYNAMICS_FOLLOWER_H

#include "common/core/dsp.h"

typedef struct {
  double y1; ///< After the release
  double y;  ///< After the attack: the output
} follower;

/// Takes one frame; returns the output
static inline float
follower_next(follower* f, float x, double attack_share, double release_share)
{
  // (1 - share) y + share x keeps the loop to one product and one sum
  const double in       = (double)x;
  const double released = (1.0 - release_share) * f->y1 + release_share * in;
  f->y1                 = in > released ? in : released;
  f->y                  = (1.0 - attack_share) * f->y + attack_share * f->y1;
  return (float)f->y;
}

#endif // COMMON_DYNAMICS_FOLLOWER_H
