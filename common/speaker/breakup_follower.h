// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// How hard the loudspeaker is played, from 0 to 1.
///
/// Mean square over 10 ms, its level in dB smoothed with an attack and a
/// release, and a smooth step from 0 at -36 to 1 at -9 dBFS RMS.  From silence
/// to a full-scale stroke it reaches 90 % in 9.8 ms with an attack of 3 ms, and
/// it falls to 10 % in 145 ms with a release of 150 ms, at any rate.
///
/// Linked: of two channels the louder one counts.  Real-time safe.

#ifndef COMMON_SPEAKER_BREAKUP_FOLLOWER_H
#define COMMON_SPEAKER_BREAKUP_FOLLOWER_H

#include "common/core/dsp.h"
#include "common/filters/one_pole.h"

#define BREAKUP_SOFT_DBFS (-36.0)
#define BREAKUP_HARD_DBFS (-9.0)

typedef struct {
  one_pole window;
  double   attack, release; ///< Shares per frame

  one_pole_memory square[MAX_CHANNELS]; ///< Mean squares
  double level; ///< Smoothed, log2; double for a slow release at a high rate
} breakup_follower;

/// Sets the times in ms: attack 0.5 to 50, release 20 to 1000
void
breakup_follower_set(breakup_follower* f,
                     double            attack_ms,
                     double            release_ms,
                     double            rate_hz);

void
breakup_follower_reset(breakup_follower* f);

/// Writes `how_hard` for `n` frames; n is at most CONTROL_FRAMES
void
breakup_follower_process(breakup_follower*   f,
                         const float* const* in,
                         float*              how_hard,
                         uint32_t            n_channels,
                         uint32_t            n);

/// Returns the smooth step: how hard a level is
float
breakup_how_hard(double level_dbfs);

#endif // COMMON_SPEAKER_BREAKUP_FOLLOWER_H
