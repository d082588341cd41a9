// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Whole-frame delay for dry paths that must stay in step with a filtered one.
///
/// The caller owns the memory: `size` is a power of two above the longest
/// delay plus CONTROL_FRAMES.  Real-time safe.

#ifndef COMMON_DELAY_H
#define COMMON_DELAY_H

#include "dsp.h"

#include <string.h>

typedef struct {
  float*   line;
  uint32_t mask; ///< size - 1
  uint32_t pos;  ///< Next frame to write
} delay;

static inline void
delay_init(delay* d, float* line, uint32_t size)
{
  d->line = line;
  d->mask = size - 1;
  d->pos  = 0;
}

static inline void
delay_reset(delay* d)
{
  memset(d->line, 0, (d->mask + 1U) * sizeof(float));
  d->pos = 0;
}

/// `n` frames later by `frames` (at most size - CONTROL_FRAMES).  n is at most
/// CONTROL_FRAMES; out may be in.
static inline void
delay_process(delay*       d,
              uint32_t     frames,
              const float* in,
              float*       out,
              uint32_t     n)
{
  for (uint32_t i = 0; i < n; ++i) {
    d->line[(d->pos + i) & d->mask] = in[i];
  }
  for (uint32_t i = 0; i < n; ++i) {
    out[i] = d->line[(d->pos + i - frames) & d->mask];
  }
  d->pos += n;
}

/// What came in `frames` before the frame just written by delay_process()'s
/// index `i` of `n`: for a second tap into the same line
static inline float
delay_tap(const delay* d, uint32_t frames, uint32_t i, uint32_t n)
{
  return d->line[(d->pos - n + i - frames) & d->mask];
}

#endif // COMMON_DELAY_H
