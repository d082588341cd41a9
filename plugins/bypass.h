// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// The bypass of a stage: the untreated signal, delayed like the treated one,
/// and the crossfade between the two.
///
/// From 10 ms after the switch, bypass is the delayed input, bit for bit.  With
/// level matching on, it plays at the loudness of the treated signal
/// (common/level/loudness_match.h).  A change of the stage's latency
/// crossfades.  Real-time safe except for bypass_init().

#ifndef PLUGINS_BYPASS_H
#define PLUGINS_BYPASS_H

#include "fade.h"

#include "common/core/crossfade.h"
#include "common/core/delay.h"
#include "common/core/glide.h"
#include "common/level/loudness_match.h"

/// Longest latency in frames, plus one chunk of the control grid
#define BYPASS_FRAMES 1024

#define BYPASS_MAX_LATENCY (BYPASS_FRAMES - CONTROL_FRAMES)

_Static_assert(DELAY_HOLDS(BYPASS_FRAMES, BYPASS_MAX_LATENCY),
               "A power of two");

/// Length of the crossfade, each way
#define BYPASS_FADE_S 0.010

/// Length of the crossfade from one latency to the next
#define BYPASS_TURN_S 0.020

typedef struct {
  uint32_t       n_channels;
  double         rate_hz, glide_share;
  bool           is_matching;
  fade           wet;     ///< 1 treated, 0 untreated
  double         trim_db; ///< After the stage, at the last grid line
  glide          gain;    ///< Gain of the untreated signal, in dB
  ramp           gain_ramp;
  uint32_t       latency;  ///< As asked for
  uint32_t       from, to; ///< Latencies heard in the crossfade
  crossfade      turn;     ///< From one to the other
  delay          line[MAX_CHANNELS];
  float          memory[MAX_CHANNELS][BYPASS_FRAMES];
  loudness_match matched;
} bypass;

void
bypass_init(bypass* b, double rate_hz, uint32_t n_channels);

/// Switches the stage in or out, and level matching on or off, from the next
/// frame on
void
bypass_set(bypass* b, bool enabled, bool matching);

/// Forgets the signal; jumps to the settings without a crossfade.  Latencies
/// are held at BYPASS_MAX_LATENCY, here and below.
void
bypass_reset(bypass* b, uint32_t latency_frames);

/// Does the same after a rest: keeps what the match has found, and jumps to its
/// gain.  `trim_db` as for bypass_control().
void
bypass_wake(bypass* b, uint32_t latency_frames, double trim_db);

/// True if only the untreated signal is heard
bool
bypass_is_untreated(const bypass* b);

/// Asks for another latency.  The untreated signal crossfades to it from the
/// next grid line on, or from the end of a crossfade that is on its way.
void
bypass_follow(bypass* b, uint32_t latency_frames);

/// Matches anew: the sound of the stage has changed
void
bypass_restart(bypass* b);

/// Returns the loudness of the output, were it not bypassed, minus that of the
/// input, in LU: as measured while matching is on, with the trim as it is.  0
/// until something is known.
double
bypass_match_db(const bypass* b);

/// Call it on each grid line, before the frames that follow.  `trim_db` is the
/// present gain after the stage.
void
bypass_control(bypass* b, double trim_db);

/// Takes `n` frames, at most up to the next grid line.  Writes the delayed
/// input to `dry`, unless nothing needs it.
void
bypass_delay(bypass* b, const float* const* in, float* const* dry, uint32_t n);

/// Measures both for the match, before the trim, whose gain is known
void
bypass_listen(bypass*             b,
              const float* const* dry,
              const float* const* wet,
              uint32_t            n);

/// Writes the output to `wet`; only reads `dry`
void
bypass_mix(bypass* b, const float* const* dry, float* const* wet, uint32_t n);

#endif // PLUGINS_BYPASS_H
