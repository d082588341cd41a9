// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// The gain that makes an untreated signal as loud as the treated one.
///
/// Two loudness meters (ITU-R BS.1770) with gates of their own, on the treated
/// signal and on the untreated one at the same latency.  The gain is set as
/// soon as anything is known, again when 3 s have been measured, and then moves
/// only if it is off by more than 0.2 dB, by 0.5 dB per second at most; once
/// the untreated signal is to be heard, it is what has been measured.  After
/// a change of the treatment it goes down at once, as far as is known, so that
/// nobody hears a louder signal than before, and up after 3 s.  It stands still
/// in silence and while the untreated signal is heard, so that a comparison
/// never drifts; nor does what is played then count, for stages before this one
/// may be compared with it.  Real-time safe.

#ifndef COMMON_LEVEL_LOUDNESS_MATCH_H
#define COMMON_LEVEL_LOUDNESS_MATCH_H

#include "loudness.h"

/// Range of the gain.  Turning up is limited: an error there would be loud.
#define LOUDNESS_MATCH_MOST_DB  24.0
#define LOUDNESS_MATCH_LEAST_DB (-80.0)

typedef struct {
  loudness dry, wet;
  uint32_t n_blocks; ///< Blocks that sounded, since restart
  bool     is_set;   ///< Once 3 s have been measured since restart
  bool     is_fresh; ///< Not yet set like that since reset
  bool     is_known; ///< There was something to set the gain from
  bool     gliding;
  bool     is_held; ///< The untreated signal is heard
  double   db;      ///< The gain for the untreated signal
  /// What has been measured, to the last block.  The gain itself until 3 s have
  /// been measured since restart.
  double measured_db;
} loudness_match;

void
loudness_match_init(loudness_match* m, double rate_hz, uint32_t n_channels);

/// Forgets everything; the gain is 0 dB
void
loudness_match_reset(loudness_match* m);

/// Measures anew after a change of the treatment; keeps the gain until that is
/// done
void
loudness_match_restart(loudness_match* m);

/// Takes a grid line, before the frames that follow it; `hold` while the
/// untreated signal is heard
void
loudness_match_control(loudness_match* m, bool hold);

/// Adds `n` frames of each channel, up to the next grid line
void
loudness_match_add(loudness_match*     m,
                   const float* const* dry,
                   const float* const* wet,
                   uint32_t            n);

#endif // COMMON_LEVEL_LOUDNESS_MATCH_H
