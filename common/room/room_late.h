// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// The reverberation of a room after its first reflections.
///
/// Four short allpass diffusers per source into a feedback delay network
/// (common/reverb/fdn.h).  Its level is not a matter of taste: images arrive at
/// a rate of 4 pi c^3 t^2 / V with an energy of 1 / (4 pi r)^2 each, which
/// makes c / (4 pi V) exp(-13.8 t / T) per second; the network is fed so that
/// it continues just that.  Where two microphones hear the same, in the bass,
/// so do both outputs: the coherence of omnidirectional microphones d apart in
/// a diffuse field, sin(kd) / (kd) (R. K. Cook et al., J. Acoust. Soc. Am. 27
/// (1955) 1072), is met by a first-order filter pair (computed).
///
/// Another volume needs other lengths.  They are laid out line by line in a
/// second network, one per grid line, which hears the input for 150 ms (faded
/// in over 30 ms, because it would remember a step) and is then faded in itself
/// over 50 ms.  Another delay in front of it fades in over 30 ms.  Real-time
/// safe.

#ifndef COMMON_ROOM_ROOM_LATE_H
#define COMMON_ROOM_ROOM_LATE_H

#include "common/core/glide.h"
#include "common/reverb/fading_delay.h"
#include "room_early.h"
#include "room_tail.h"

typedef enum {
  TAIL_STEADY,
  TAIL_BUILDING,
  TAIL_FILLING,
  TAIL_FADING
} tail_state;

typedef struct {
  double       rate_hz;
  double       glide_share;
  room_lengths wanted;
  room_tail    tail[2];
  decay_law    law; ///< Where the losses are or go
  uint32_t     active;
  tail_state   state;
  uint32_t     step;    ///< Step of building, or grid lines heard
  crossfade    opening; ///< Of the new network's input
  crossfade    fade;    ///< Of the new network's output

  fading_delay delay; ///< Before the diffusers

  glide coherence; ///< log2 of the frequency below which both hear the same
  ramp  pole;
  f32x4 common; ///< Low-passes of sum and difference
} room_late;

void
room_late_init(room_late* l, double rate_hz);

/// Sets the lengths to go to, and the delay before the diffusers (from
/// room_tail_delay_s())
void
room_late_set(room_late* l, room_lengths lengths, double delay_s);

/// Sets the distance between the microphones
void
room_late_set_spacing(room_late* l, double spacing_m);

/// Jumps there, decaying by `law`; forgets the signal
void
room_late_reset(room_late* l, const decay_law* law);

/// Does the same with the memory of `tail[0]` zero already, of which
/// room_tail_size() bytes may have been in use
void
room_late_restart(room_late* l, const decay_law* law);

/// Takes a grid line.  While not `free`, no second network begins to run.
void
room_late_control(room_late* l, bool free);

/// Returns true while two networks run
static inline bool
room_late_is_double(const room_late* l)
{
  return l->state == TAIL_FILLING || l->state == TAIL_FADING;
}

/// Aims for `law`: call room_late_push_decay() on the next ROOM_LAW_LINES
/// lines, then both again until it rests.
void
room_late_aim(room_late* l, const decay_law* law);

/// Moves a part of the way there on a grid line, `turn` from 0 to
/// ROOM_LAW_LINES - 1, so that no line has all the work
void
room_late_push_decay(room_late* l, uint32_t turn);

bool
room_late_rests(const room_late* l);

/// Writes `n` frames from the past of both sources, of ROOM_PAST_FRAMES,
/// relative to their direct sound at 1 m
void
room_late_process(room_late*      l,
                  const tap_line* source,
                  float* const*   out,
                  uint32_t        n);

#endif // COMMON_ROOM_ROOM_LATE_H
