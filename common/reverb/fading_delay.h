// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Delays two channels by a whole number of frames that may jump: the old and
/// the new delay crossfade, one change at a time; the delay set last comes
/// next.  The caller owns the past of the channels.  Real-time safe.

#ifndef COMMON_REVERB_FADING_DELAY_H
#define COMMON_REVERB_FADING_DELAY_H

#include "common/core/crossfade.h"
#include "tap_line.h"

typedef struct {
  double    rate_hz, fade_s;
  uint32_t  most;           ///< Longest delay
  uint32_t  want, from, to; ///< In frames
  crossfade fade;           ///< From `from` to `to`
} fading_delay;

/// Prepares for tap lines of `size`
static inline void
fading_delay_init(fading_delay* d, uint32_t size, double fade_s, double rate_hz)
{
  d->most    = size - CONTROL_FRAMES;
  d->fade_s  = fade_s;
  d->rate_hz = rate_hz;
}

/// Sets the delay to go to, which is held at what the tap lines hold
static inline void
fading_delay_set(fading_delay* d, uint32_t frames)
{
  d->want = frames < d->most ? frames : d->most;
}

/// Jumps to the delay set last
static inline void
fading_delay_reset(fading_delay* d)
{
  d->from = d->to = d->want;
  crossfade_stop(&d->fade);
}

/// Leaves a crossfade that is done.  Call on each line of the control grid,
/// before its frames.  True if there was one.
static inline bool
fading_delay_end(fading_delay* d)
{
  const bool ends = crossfade_done(&d->fade);
  if (ends) {
    crossfade_stop(&d->fade);
  }
  return ends;
}

/// Begins to go to another delay, if one was set.  Call after
/// fading_delay_end().
static inline void
fading_delay_begin(fading_delay* d)
{
  if (!crossfade_runs(&d->fade) && d->want != d->to) {
    d->from = d->to;
    d->to   = d->want;
    crossfade_start(&d->fade, d->fade_s, d->rate_hz);
  }
}

/// Writes the last block of both channels, delayed: `n` frames, up to the next
/// grid line
static inline void
fading_delay_read(fading_delay*   d,
                  const tap_line* past,
                  float* const*   out,
                  uint32_t        n)
{
  float      share[CONTROL_FRAMES];
  const bool fading = crossfade_runs(&d->fade);
  if (fading) {
    crossfade_shares(&d->fade, share, n);
  }
  for (uint32_t k = 0; k < 2; ++k) {
    const float* const to = tap_line_at(&past[k], d->to);
    if (fading) {
      memcpy(out[k], tap_line_at(&past[k], d->from), n * sizeof(float));
      crossfade_mix(share, to, out[k], n);
    } else {
      memcpy(out[k], to, n * sizeof(float));
    }
  }
}

#endif // COMMON_REVERB_FADING_DELAY_H
