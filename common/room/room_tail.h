// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// One network with its diffusers: the reverberation of a room of one size.
///
/// Laid out line by line in memory of its own, so that it may be built beside
/// one that sounds; see room_late.h for its purpose.  Real-time safe.

#ifndef COMMON_ROOM_ROOM_TAIL_H
#define COMMON_ROOM_ROOM_TAIL_H

#include "common/reverb/fdn.h"
#include "room.h"

enum { ROOM_DIFFUSERS = 4 };

/// Schroeder's allpass around a delay
typedef struct {
  float*   line;
  uint32_t length, at;
} room_allpass;

/// Room for the lines of one network and its diffusers: the largest room at the
/// highest rate
#define ROOM_LATE_FRAMES 180000

/// Largest room_scale() and stretch, in percent, at which lengths are held: a
/// little above 400 m3, and walls that ring long
#define ROOM_MAX_SCALE_PC   182
#define ROOM_MAX_STRETCH_PC 150

/// What the lengths depend on
typedef struct {
  double volume_m3;
  double stretch; ///< Stretch of the lines, for long decays
} room_lengths;

typedef struct {
  room_lengths lengths;
  room_allpass diffuser[2][ROOM_DIFFUSERS];
  fdn          net;
  float        gain;     ///< Gain by its lengths and the volume
  uint32_t     used;     ///< Frames of memory in use
  uint32_t     most;     ///< Most that were ever in use
  bool         is_empty; ///< All memory is zero
  decay_law    law;      ///< Law that `net` is fitted to
  bool         waits;    ///< ... but has not moved to

  loss_lanes  way, way_to, way_step; ///< Loss up to where the network begins
  bool        way_moving;
  loss_memory way_memory;

  float memory[ROOM_LATE_FRAMES];
} room_tail;

/// Grid lines from one decay law to the next while it moves (our choice): 7 ms
/// at 48 kHz, a third of what smooths the law
enum { ROOM_LAW_LINES = 10 };

/// Both sources, or both outputs
typedef float room_pair[2][CONTROL_FRAMES];

/// Bytes of `memory` that may not be zero
static inline size_t
room_tail_size(const room_tail* t)
{
  return t->most * sizeof(float);
}

/// Returns the time from the source to the diffusers
double
room_tail_delay_s(room_lengths lengths);

/// Lays out the diffusers for `lengths`; call before the lines are laid out
void
room_tail_lay_diffusers(room_tail* t, double rate_hz);

/// Lays out line `i`; call for 0 to FDN_LINES - 1 in turn
void
room_tail_lay_line(room_tail* t, uint32_t i, double rate_hz);

/// Makes the settings for `law`, once the lines are laid out
void
room_tail_fit(room_tail* t, const decay_law* law, double rate_hz);

/// Sets loss and level of a tail that is fitted
void
room_tail_finish(room_tail* t, double rate_hz);

/// Forgets the signal, with memory that is zero already; keeps the rest
void
room_tail_restart(room_tail* t);

/// Moves to the law that it is fitted to, within ROOM_LAW_LINES grid lines
void
room_tail_move(room_tail* t);

/// Returns true if nothing moves and it decays by `law`
bool
room_tail_rests(const room_tail* t, const decay_law* law);

/// Runs `n` frames of both sources to both outputs
void
room_tail_run(room_tail* t, room_pair in, room_pair out, uint32_t n);

#endif // COMMON_ROOM_ROOM_TAIL_H
