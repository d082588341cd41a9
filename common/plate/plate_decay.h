// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// How long modes ring: three reverberation times, and the loss in nepers per
/// second between them linear in the logarithm of the frequency (our choice);
/// constant below 100 Hz and above 10 kHz.  All real-time safe.

#ifndef COMMON_PLATE_PLATE_DECAY_H
#define COMMON_PLATE_PLATE_DECAY_H

#include "common/core/dsp.h"

/// ln(1000): an amplitude falls by that much in a reverberation time
#define PLATE_DECAY_NEPERS 6.9077552789821370521

/// Time to -60 dB at 100 Hz, 1 kHz and 10 kHz
typedef struct {
  double low_s, mid_s, high_s;
} plate_decay;

static inline bool
plate_decay_equal(const plate_decay* a, const plate_decay* b)
{
  return a->low_s == b->low_s && a->mid_s == b->mid_s && a->high_s == b->high_s;
}

/// Returns the loss `way` decades above 1 kHz, in nepers per second
static inline double
plate_decay_loss_at(const plate_decay* d, double way)
{
  const double low  = PLATE_DECAY_NEPERS / d->low_s;
  const double mid  = PLATE_DECAY_NEPERS / d->mid_s;
  const double high = PLATE_DECAY_NEPERS / d->high_s;
  return way < 0.0 ? mid + (low - mid) * fmin(-way, 1.0)
                   : mid + (high - mid) * fmin(way, 1.0);
}

/// Returns the loss at `f_hz`, in nepers per second
static inline double
plate_decay_loss(const plate_decay* d, double f_hz)
{
  return plate_decay_loss_at(d, steady_log10(f_hz) - 3.0);
}

#endif // COMMON_PLATE_PLATE_DECAY_H
