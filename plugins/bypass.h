// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// The way around a stage: the untreated signal, as late as the treated one,
/// and the fade from one to the other.
///
/// At rest, and that is 10 ms after the switch, bypass is the input delayed,
/// bit for bit.  With level matching on, it plays at the loudness of the
/// treated signal (common/match.h).  A change of the stage's latency
/// crossfades.  Real-time safe but for bypass_init().

#ifndef PLUGINS_BYPASS_H
#define PLUGINS_BYPASS_H

#include "fade.h"

#include "common/core/delay.h"
#include "common/core/glide.h"
#include "common/level/loudness_match.h"

/// Longest latency, in frames, with the grid's chunk on top
#define BYPASS_FRAMES 1024

/// From treated to untreated and back
#define BYPASS_FADE_S 0.010

typedef struct {
  uint32_t       n_channels;
  double         glide_share;
  bool           is_matching;
  fade           wet;  ///< 1 treated, 0 untreated
  glide          turn; ///< From the old latency, 0, to the present one, 1
  ramp           turn_ramp;
  glide          gain; ///< Of the untreated signal, in dB
  ramp           gain_ramp;
  uint32_t       latency, old_latency;
  delay          line[MAX_CHANNELS];
  float          memory[MAX_CHANNELS][BYPASS_FRAMES];
  loudness_match matched;
} bypass;

void
bypass_init(bypass* b, double rate_hz, uint32_t n_channels);

/// Treated or not, from the coming frame on; `matching` as the control says
void
bypass_set(bypass* b, bool enabled, bool matching);

/// Forget the signal and be there at once
void
bypass_reset(bypass* b, uint32_t latency_frames);

/// The latency of the frames to come
void
bypass_follow(bypass* b, uint32_t latency_frames);

/// The sound of the stage changed: match anew
void
bypass_restart(bypass* b);

/// On each grid line, before the frames that follow it; `trim_db` is the gain
/// behind the treatment now
void
bypass_control(bypass* b, double trim_db);

/// Put in `n` frames, up to the next grid line; `dry` is what comes late, or
/// left alone if nothing of it is wanted
void
bypass_delay(bypass* b, const float* const* in, float* const* dry, uint32_t n);

/// Hear both, in front of the trim, which is known and need not be measured
void
bypass_listen(bypass*             b,
              const float* const* dry,
              const float* const* wet,
              uint32_t            n);

/// Mix into `wet` what is to be heard.  Both are read, `wet` is written.
void
bypass_mix(bypass* b, const float* const* dry, float* const* wet, uint32_t n);

#endif // PLUGINS_BYPASS_H
