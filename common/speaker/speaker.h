// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// One loudspeaker: coil, modes, breakup, cabinet, in this order.
///
/// Its parts are chosen once; moving settings come on grid lines (the position
/// from soft to hard playing, source, microphone) and per frame (the breakup's
/// gains).  For another choice, build another one and crossfade.
///
/// Real-time safe.

#ifndef COMMON_SPEAKER_SPEAKER_H
#define COMMON_SPEAKER_SPEAKER_H

#include "common/core/delay.h"

#include "breakup.h"
#include "cabinet.h"
#include "cone_modes.h"
#include "motor_heat.h"

typedef struct {
  cone_size size;
  bool      is_open;
  bool      has_cabinet; ///< False: modes and breakup alone
  uint32_t  factor;      ///< Factor of oversampling
} speaker_choice;

static inline bool
speaker_choice_is(speaker_choice a, speaker_choice b)
{
  return a.size == b.size && a.is_open == b.is_open &&
         a.has_cabinet == b.has_cabinet && a.factor == b.factor;
}

/// Settings on a grid line
typedef struct {
  double position; ///< From soft to hard playing, 0 to 1
  double source_ohm;
  double off_axis;  ///< 0 to 1
  double shift_oct; ///< How far the tone moves to position 1
} speaker_line;

/// Settings per frame.  The gains reach a frame's value at its end, from the
/// value of the frame before, which for the first one is at index 0.
typedef struct {
  float drive[1 + CONTROL_FRAMES];
  float dry[1 + CONTROL_FRAMES];
  float wet[1 + CONTROL_FRAMES];
  float feedback[CONTROL_FRAMES];
  float position[CONTROL_FRAMES];
  float mix[CONTROL_FRAMES]; ///< At position 1
  bool  is_dry;              ///< No mix: neither modes nor breakup are heard
} speaker_moves;

/// Delay with any choice, at any rate: that of the slowest factor
#define SPEAKER_LATENCY 42

/// Above it plus a call
#define SPEAKER_LATE_FRAMES 128

_Static_assert(DELAY_HOLDS(SPEAKER_LATE_FRAMES, SPEAKER_LATENCY), "Late lines");

typedef struct {
  speaker_choice choice;
  double         rate_hz;
  uint32_t       wait; ///< Frames by which the choice is faster
  delay          late[MAX_CHANNELS];
  float          late_memory[MAX_CHANNELS][SPEAKER_LATE_FRAMES];
  motor          coil;
  motor_heat     heat;
  cone_modes     modes;
  oversampler    rates[MAX_CHANNELS];
  breakup        cone;
  cabinet        box;
} speaker;

/// Builds one, cold, silent and at rest
void
speaker_start(speaker*            p,
              speaker_choice      choice,
              const speaker_line* line,
              double              rate_hz);

/// Moves to `line` from this grid line to the next
void
speaker_push(speaker* p, const speaker_line* line);

/// Runs `n` frames, up to the next grid line; out[k] may not be in[k]
void
speaker_run(speaker*             p,
            const speaker_moves* moves,
            const float* const*  in,
            float* const*        out,
            uint32_t             n_channels,
            uint32_t             n);

#endif // COMMON_SPEAKER_SPEAKER_H
