// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// The newest stretch of a stereo signal, by position in the piece.
///
/// One thread may append while others read earlier frames: only
/// lane_buffer_make_room() moves them.

#ifndef PRESETS_DEMO_SESSION_MIX_LANE_BUFFER_H
#define PRESETS_DEMO_SESSION_MIX_LANE_BUFFER_H

#include <stdint.h>

typedef struct {
  float*   x[2];
  uint64_t start; ///< Position of the first frame kept
  uint64_t end;   ///< Position after the last
  uint64_t room;  ///< Frames that fit from `start`
} lane_buffer;

void
lane_buffer_clear(lane_buffer* b);

/// Forgets frames before a position, and makes room to append `n`
void
lane_buffer_make_room(lane_buffer* b, uint64_t forget, uint64_t n);

/// Appends `n` frames, for which there must be room
void
lane_buffer_append(lane_buffer* b, const float* const* x, uint32_t n);

/// Returns a channel from a position that is kept
const float*
lane_buffer_at(const lane_buffer* b, uint32_t channel, uint64_t position);

#endif // PRESETS_DEMO_SESSION_MIX_LANE_BUFFER_H
