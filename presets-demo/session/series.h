// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// A figure over time, for a plot: one value for each 100 ms

#ifndef PRESETS_DEMO_SESSION_SERIES_H
#define PRESETS_DEMO_SESSION_SERIES_H

#include <stdint.h>

#define SERIES_STEP_S 0.1

typedef struct {
  double   step_frames;
  double*  values;
  uint32_t n, room;
  uint64_t frames; ///< So far
} series;

void
series_init(series* s, double rate_hz);

void
series_clear(series* s);

/// `value` held during the next `frames`; where several fall into one step the
/// highest counts
void
series_add(series* s, double value, uint32_t frames);

#endif // PRESETS_DEMO_SESSION_SERIES_H
