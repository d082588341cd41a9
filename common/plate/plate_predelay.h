// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Two channels, later by a whole number of frames that may jump: the old and
/// the new delay crossfade over 20 ms, one change at a time; what was asked for
/// last comes next.  Real-time safe.

#ifndef COMMON_PLATE_PLATE_PREDELAY_H
#define COMMON_PLATE_PLATE_PREDELAY_H

#include "common/core/crossfade.h"
#include "common/reverb/tap_line.h"

/// Longest delay, and room for it at DSP_MAX_RATE_HZ
#define PLATE_PREDELAY_S    0.2
#define PLATE_PREDELAY_SIZE 131072U

#define PLATE_PREDELAY_FADE_S 0.02

typedef struct {
  double    rate_hz;
  uint32_t  want, from, to; ///< In frames
  crossfade fade;           ///< From `from` to `to`
  tap_line  past[2];
  float     line[2][PLATE_PREDELAY_SIZE + CONTROL_FRAMES];
} plate_predelay;

static inline void
plate_predelay_init(plate_predelay* d, double rate_hz)
{
  uint32_t size = CONTROL_FRAMES;
  while (size < PLATE_PREDELAY_S * rate_hz + CONTROL_FRAMES) {
    size *= 2;
  }
  d->rate_hz = rate_hz;
  tap_line_init(&d->past[0], d->line[0], size);
  tap_line_init(&d->past[1], d->line[1], size);
}

/// At most PLATE_PREDELAY_S
static inline void
plate_predelay_set(plate_predelay* d, uint32_t frames)
{
  d->want = frames;
}

/// Forget the signal, be at the delay asked for
static inline void
plate_predelay_reset(plate_predelay* d)
{
  tap_line_reset(&d->past[0]);
  tap_line_reset(&d->past[1]);
  d->from = d->to = d->want;
  crossfade_stop(&d->fade);
}

/// On each line of the control grid, before its frames
static inline void
plate_predelay_control(plate_predelay* d)
{
  if (crossfade_done(&d->fade)) {
    crossfade_stop(&d->fade);
  }
  if (!crossfade_runs(&d->fade) && d->want != d->to) {
    d->from = d->to;
    d->to   = d->want;
    crossfade_start(&d->fade, PLATE_PREDELAY_FADE_S, d->rate_hz);
  }
}

/// `n` frames, up to the next grid line, in place
static inline void
plate_predelay_process(plate_predelay* d, float* const* x, uint32_t n)
{
  float      share[CONTROL_FRAMES];
  const bool fading = crossfade_runs(&d->fade);
  if (fading) {
    crossfade_shares(&d->fade, share, n);
  }
  for (uint32_t k = 0; k < 2; ++k) {
    tap_line_push(&d->past[k], x[k], n);
    const float* const to = tap_line_at(&d->past[k], d->to);
    if (fading) {
      memcpy(x[k], tap_line_at(&d->past[k], d->from), n * sizeof(float));
      crossfade_mix(share, to, x[k], n);
    } else {
      memcpy(x[k], to, n * sizeof(float));
    }
  }
}

#endif // COMMON_PLATE_PLATE_PREDELAY_H
