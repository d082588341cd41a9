// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// The first reflections of a room: images of two sources at two microphones.
///
/// Each image is a tap on the past of its source, weighted with d / r, so that
/// the direct sound, which is not part of it, would be 1 at the distance d.
/// Taps are summed by the number of walls hit, and each hit costs what the
/// mean path between two walls costs in the decay law
/// (common/reverb/absorption.h), so that early and late sound lose alike.
///
/// New positions are computed in a second bank, a quarter on every second grid
/// line, which then fades in over 30 ms.  Real-time safe.

#ifndef COMMON_ROOM_ROOM_EARLY_H
#define COMMON_ROOM_ROOM_EARLY_H

#include "common/core/crossfade.h"
#include "common/reverb/tap_line.h"
#include "room.h"

/// Reflections by one, two, three walls, and more
#define ROOM_ORDERS 4

/// Images of one source at one microphone; 75 on average in 20 m^3
#define ROOM_IMAGES 128

/// Longest delay before the room; mixing time of the largest room, rounded up;
/// and the past of a source that holds both at DSP_MAX_RATE_HZ
#define ROOM_MAX_PREDELAY_MS 100
#define ROOM_MAX_MIXING_MS   36
#define ROOM_PAST_FRAMES     65536

_Static_assert(DELAY_HOLDS(ROOM_PAST_FRAMES,
                           DSP_MOST_FRAMES(ROOM_MAX_PREDELAY_MS +
                                           ROOM_MAX_MIXING_MS)),
               "Last reflection");

/// What the positions depend on
typedef struct {
  double volume_m3, distance_m, spacing_m;
  double predelay_s;
} room_place;

typedef struct {
  uint32_t delay; ///< In frames
  float    gain;
} room_tap;

/// By microphone, source and order: those of order g + 1 are first[g] up to
/// first[g + 1]
typedef struct {
  room_place place;
  room_tap   tap[2][2][ROOM_IMAGES];
  uint32_t   first[2][2][ROOM_ORDERS + 1];
} room_bank;

typedef struct {
  double     rate_hz;
  room_place wanted;
  room_bank  bank[2];
  uint32_t   active;
  uint32_t   step; ///< Grid lines spent on the other bank, while `building`
  bool       building;
  crossfade  fade;

  loss_lanes  wall, wall_to, wall_step;
  bool        wall_moving;
  loss_memory hit[ROOM_ORDERS];
} room_early;

void
room_early_init(room_early* e, double rate_hz);

/// Sets the positions to go to
void
room_early_set(room_early* e, room_place place);

/// Jumps there, with walls of `law`; forgets the signal
void
room_early_reset(room_early* e, const decay_law* law);

/// Takes a grid line: moves the positions.  Begins no new move while not
/// `free`.
void
room_early_control(room_early* e, bool free);

/// Returns false while the positions move
static inline bool
room_early_stands(const room_early* e)
{
  return !e->building && !crossfade_runs(&e->fade);
}

/// Moves the walls to `law` within `n_lines` grid lines from this one; call
/// again then, until `wall_moving` is false
void
room_early_push_decay(room_early*      e,
                      const decay_law* law,
                      double           volume_m3,
                      uint32_t         n_lines);

/// Writes `n` frames from the past of both sources, of ROOM_PAST_FRAMES each
void
room_early_process(room_early*     e,
                   const tap_line* source,
                   float* const*   out,
                   uint32_t        n);

#endif // COMMON_ROOM_ROOM_EARLY_H
