// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Levels of a stage's input and output, now and since the last restart, and
/// the difference: what the stage does to the level.
///
/// RMS, over all channels.  The change is the gated integrated output level
/// minus the gated integrated input level (gated_level.h), each with gates of
/// its own, as an external meter would measure the two.  It holds its value
/// while the input is silent.  Nearly free; real-time safe.

#ifndef COMMON_LEVEL_LEVEL_CHANGE_H
#define COMMON_LEVEL_LEVEL_CHANGE_H

#include "gated_level.h"
#include "level.h"

/// Playing below it counts as silence
#define LEVEL_CHANGE_GATE_DBFS (-70.0)

/// One side: the last 400 ms, and all since the last restart
typedef struct {
  level       now;
  double      sum; ///< Sum of squares since the last hop
  gated_level whole;
} level_change_side;

typedef struct {
  uint32_t          n_channels;
  uint32_t          bins;     ///< Bins since the last hop
  bool              is_stale; ///< The bin began before the last restart
  level_change_side in, out;
  double            db; ///< The change
} level_change;

void
level_change_init(level_change* c, double rate_hz, uint32_t n_channels);

/// Forgets everything
void
level_change_reset(level_change* c);

/// Begins to measure the change anew; keeps the levels of the last 400 ms
void
level_change_restart(level_change* c);

/// Takes a grid line, before the frames that follow it.  True if a bin of the
/// levels has closed.
bool
level_change_control(level_change* c);

/// Adds `n` frames of each channel, up to the next grid line
void
level_change_add(level_change*       c,
                 const float* const* in,
                 const float* const* out,
                 uint32_t            n);

#endif // COMMON_LEVEL_LEVEL_CHANGE_H
