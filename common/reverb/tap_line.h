// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// The past of a signal, for many taps: any block of it is contiguous.
///
/// The caller owns the memory: `size` is a power of two above the longest delay
/// plus CONTROL_FRAMES (assert it by DELAY_HOLDS()), and the line has
/// CONTROL_FRAMES more, which repeat the first frames.  Real-time safe.

#ifndef COMMON_REVERB_TAP_LINE_H
#define COMMON_REVERB_TAP_LINE_H

#include "common/core/dsp.h"

#include <string.h>

typedef struct {
  float*   line;  ///< size + CONTROL_FRAMES
  uint32_t mask;  ///< size - 1
  uint32_t block; ///< First frame of the last block
  uint32_t next;  ///< Where the next block goes
} tap_line;

static inline void
tap_line_init(tap_line* h, float* line, uint32_t size)
{
  h->line  = line;
  h->mask  = size - 1;
  h->block = h->next = 0;
}

/// Starts again with a line that is zero already: tap_line_size() bytes at
/// `line`
static inline void
tap_line_restart(tap_line* h)
{
  h->block = h->next = 0;
}

static inline size_t
tap_line_size(const tap_line* h)
{
  return (h->mask + 1U + CONTROL_FRAMES) * sizeof(float);
}

static inline void
tap_line_reset(tap_line* h)
{
  memset(h->line, 0, tap_line_size(h));
  tap_line_restart(h);
}

/// Takes `n` frames, at most CONTROL_FRAMES
static inline void
tap_line_push(tap_line* h, const float* in, uint32_t n)
{
  h->block = h->next;
  for (uint32_t i = 0; i < n; ++i) {
    const uint32_t at = (h->next + i) & h->mask;
    h->line[at]       = in[i];
    if (at < CONTROL_FRAMES) {
      h->line[at + h->mask + 1U] = in[i];
    }
  }
  h->next += n;
}

/// Returns the last block, `delay` frames earlier.  CONTROL_FRAMES may be read;
/// those beyond the length of the block have no meaning.
static inline const float*
tap_line_at(const tap_line* h, uint32_t delay)
{
  return h->line + ((h->block - delay) & h->mask);
}

#endif // COMMON_REVERB_TAP_LINE_H
