// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Fades from one signal to another in a fixed time, without a corner.
///
/// The share follows 6 x^5 - 15 x^4 + 10 x^3, whose slope and curvature are 0
/// at both ends: a step of 1 over 20 ms leaves less than -120 dB above 4 kHz.
/// The shares of both sides add up to 1.  Real-time safe.

#ifndef COMMON_CORE_CROSSFADE_H
#define COMMON_CORE_CROSSFADE_H

#include "dsp.h"

/// Zeroed state is at rest
typedef struct {
  uint32_t at;     ///< Frames done
  uint32_t frames; ///< In total; 0 at rest
} crossfade;

static inline void
crossfade_start(crossfade* c, double seconds, double rate_hz)
{
  c->at     = 0;
  c->frames = (uint32_t)(seconds * rate_hz) + 1U;
}

/// Returns false while nothing fades
static inline bool
crossfade_runs(const crossfade* c)
{
  return c->frames != 0;
}

/// Returns true once only the new side is left
static inline bool
crossfade_done(const crossfade* c)
{
  return c->frames != 0 && c->at >= c->frames;
}

static inline void
crossfade_stop(crossfade* c)
{
  *c = (crossfade){0};
}

/// Writes the share of the new side for each of `n` frames; 1 from the end on
static inline void
crossfade_shares(crossfade* c, float* share, uint32_t n)
{
  const float step = 1.0f / (float)c->frames;
  for (uint32_t i = 0; i < n; ++i) {
    const float at = (float)(c->at + i) * step;
    const float x  = at < 1.0f ? at : 1.0f;
    share[i]       = x * x * x * (10.0f + x * (6.0f * x - 15.0f));
  }
  c->at += n;
}

/// Writes old + share (new - old) over the old side ...
static inline void
crossfade_mix(const float* restrict share,
              const float* restrict fresh,
              float* restrict old,
              uint32_t n)
{
  for (uint32_t i = 0; i < n; ++i) {
    old[i] += share[i] * (fresh[i] - old[i]);
  }
}

/// ... or over the new one
static inline void
crossfade_mix_onto(const float* restrict share,
                   const float* restrict old,
                   float* restrict fresh,
                   uint32_t n)
{
  for (uint32_t i = 0; i < n; ++i) {
    fresh[i] = old[i] + share[i] * (fresh[i] - old[i]);
  }
}

#endif // COMMON_CORE_CROSSFADE_H
