// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// A figure over time, for a plot: one value for each 100 ms

#ifndef PRESETS_DEMO_SESSION_MEASURE_TIME_SERIES_H
#define PRESETS_DEMO_SESSION_MEASURE_TIME_SERIES_H

#include <stdint.h>

#define TIME_SERIES_STEP_S 0.1

typedef struct {
  double   step_frames;
  double*  values;
  uint32_t n, room;
  uint64_t frames; ///< So far
} time_series;

void
time_series_init(time_series* s, double rate_hz);

void
time_series_clear(time_series* s);

/// Adds a `value` held for the next `frames`; of several in one step the
/// highest counts
void
time_series_add(time_series* s, double value, uint32_t frames);

#endif // PRESETS_DEMO_SESSION_MEASURE_TIME_SERIES_H
