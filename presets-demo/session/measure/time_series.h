// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// A figure over time, for a plot: one value for each 100 ms; of a long piece
/// for each 200 ms, 400 ms and so on, so that there are never more than
/// TIME_SERIES_MAX

#ifndef PRESETS_DEMO_SESSION_MEASURE_TIME_SERIES_H
#define PRESETS_DEMO_SESSION_MEASURE_TIME_SERIES_H

#include <stdint.h>

#define TIME_SERIES_STEP_S 0.1
#define TIME_SERIES_MAX    2048U ///< 204.8 s of the shortest steps

typedef struct {
  double   step_s;
  double   step_frames;
  double*  values;
  uint32_t n, room;
  uint64_t frames; ///< So far
} time_series;

/// Begins a series for a piece of `n_frames`
void
time_series_init(time_series* s, double rate_hz, uint64_t n_frames);

void
time_series_clear(time_series* s);

/// Adds a `value` held for the next `frames`; of several in one step the
/// highest counts
void
time_series_add(time_series* s, double value, uint32_t frames);

#endif // PRESETS_DEMO_SESSION_MEASURE_TIME_SERIES_H
