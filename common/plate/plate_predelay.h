// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// The delay before the plate, and the past of two channels that it needs.
/// Real-time safe.

#ifndef COMMON_PLATE_PLATE_PREDELAY_H
#define COMMON_PLATE_PLATE_PREDELAY_H

#include "common/reverb/fading_delay.h"

/// Longest delay, and room for it at DSP_MAX_RATE_HZ
#define PLATE_PREDELAY_MS   200
#define PLATE_PREDELAY_SIZE 131072U

_Static_assert(DELAY_HOLDS(PLATE_PREDELAY_SIZE,
                           DSP_MOST_FRAMES(PLATE_PREDELAY_MS)),
               "Longest delay at the highest rate");

#define PLATE_PREDELAY_FADE_S 0.02

typedef struct {
  fading_delay delay;
  tap_line     past[2];
  float        line[2][PLATE_PREDELAY_SIZE + CONTROL_FRAMES];
} plate_predelay;

static inline void
plate_predelay_init(plate_predelay* d, double rate_hz)
{
  uint32_t size = CONTROL_FRAMES;
  while (size < 1e-3 * PLATE_PREDELAY_MS * rate_hz + CONTROL_FRAMES) {
    size *= 2;
  }
  fading_delay_init(&d->delay, size, PLATE_PREDELAY_FADE_S, rate_hz);
  tap_line_init(&d->past[0], d->line[0], size);
  tap_line_init(&d->past[1], d->line[1], size);
}

/// Sets the delay, at most PLATE_PREDELAY_MS
static inline void
plate_predelay_set(plate_predelay* d, uint32_t frames)
{
  fading_delay_set(&d->delay, frames);
}

/// Jumps to the delay set; the past is zero already
static inline void
plate_predelay_restart(plate_predelay* d)
{
  tap_line_restart(&d->past[0]);
  tap_line_restart(&d->past[1]);
  fading_delay_reset(&d->delay);
}

/// Takes a line of the control grid, before its frames
static inline void
plate_predelay_control(plate_predelay* d)
{
  (void)fading_delay_end(&d->delay);
  fading_delay_begin(&d->delay);
}

/// Delays `n` frames, up to the next grid line, in place
static inline void
plate_predelay_process(plate_predelay* d, float* const* x, uint32_t n)
{
  tap_line_push(&d->past[0], x[0], n);
  tap_line_push(&d->past[1], x[1], n);
  fading_delay_read(&d->delay, d->past, x, n);
}

#endif // COMMON_PLATE_PLATE_PREDELAY_H
