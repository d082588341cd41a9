// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Peak followers for gain reductions and envelopes.
///
/// Smooth decoupled: a peak holder with smooth release in front of an attack
/// one-pole.  It tracks a static curve without bias and ripples least.
///
/// D. Giannoulis, M. Massberg, J. D. Reiss, "Digital Dynamic Range Compressor
/// Design", J. Audio Eng. Soc. 60(6), 2012.  Real-time safe.

#ifndef COMMON_FOLLOWER_H
#define COMMON_FOLLOWER_H

#include "dsp.h"

typedef struct {
  float y1; ///< After the release
  float y;  ///< After the attack: the output
} follower;

/// One frame.  Shares as from one_pole_share(); the release time that comes out
/// is the sum of both times.
static inline float
follower_next(follower* f, float x, float attack_share, float release_share)
{
  const float released = f->y1 + release_share * (x - f->y1);
  f->y1                = x > released ? x : released;
  f->y += attack_share * (f->y1 - f->y);
  return f->y;
}

#endif // COMMON_FOLLOWER_H
