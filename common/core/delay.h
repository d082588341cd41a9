// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Whole-frame delay for dry paths that must stay in step with a filtered one.
///
/// The caller owns the memory: `size` is a power of two above the longest
/// delay plus CONTROL_FRAMES.  Real-time safe.

#ifndef COMMON_CORE_DELAY_H
#define COMMON_CORE_DELAY_H

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

/// Copies `n` frames between the line and `x`, around the end of the line
static inline void
delay_write(const delay* d, uint32_t pos, const float* x, uint32_t n)
{
  const uint32_t at    = pos & d->mask;
  const uint32_t room  = d->mask + 1U - at;
  const uint32_t first = n < room ? n : room;
  memcpy(d->line + at, x, first * sizeof(float));
  if (first < n) {
    memcpy(d->line, x + first, (n - first) * sizeof(float));
  }
}

static inline void
delay_read(const delay* d, uint32_t pos, float* x, uint32_t n)
{
  const uint32_t at    = pos & d->mask;
  const uint32_t room  = d->mask + 1U - at;
  const uint32_t first = n < room ? n : room;
  memcpy(x, d->line + at, first * sizeof(float));
  if (first < n) {
    memcpy(x + first, d->line, (n - first) * sizeof(float));
  }
}

/// Takes the next `n` frames, at most CONTROL_FRAMES, for delay_read() or
/// delay_tap() later
static inline void
delay_push(delay* d, const float* x, uint32_t n)
{
  delay_write(d, d->pos, x, n);
  d->pos += n;
}

/// Delays `n` frames by `frames` (at most size - CONTROL_FRAMES).  n is at most
/// CONTROL_FRAMES; out may be in.
static inline void
delay_process(delay*       d,
              uint32_t     frames,
              const float* in,
              float*       out,
              uint32_t     n)
{
  delay_push(d, in, n);
  delay_read(d, d->pos - n - frames, out, n);
}

/// Returns the input `frames` before frame `i` of the `n` that delay_process()
/// has just written: a second tap into the same line
static inline float
delay_tap(const delay* d, uint32_t frames, uint32_t i, uint32_t n)
{
  return d->line[(d->pos - n + i - frames) & d->mask];
}

#endif // COMMON_CORE_DELAY_H
