// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "time_series.h"

#include "presets-demo/render/program/alloc.h"

#include <math.h>
#include <stdlib.h>

void
time_series_init(time_series* s, double rate_hz, uint64_t n_frames)
{
  double step_s = TIME_SERIES_STEP_S;
  while ((double)n_frames > TIME_SERIES_MAX * step_s * rate_hz) {
    step_s *= 2.0;
  }
  *s = (time_series){.step_s = step_s, .step_frames = step_s * rate_hz};
}

void
time_series_clear(time_series* s)
{
  free(s->values);
  *s = (time_series){.values = NULL};
}

void
time_series_add(time_series* s, double value, uint32_t frames)
{
  const uint32_t step = (uint32_t)((double)s->frames / s->step_frames);
  s->frames += frames;
  if (step < s->n) {
    s->values[step] = fmax(s->values[step], value);
    return;
  }
  if (step >= s->room) {
    s->room   = 2 * step + 64;
    s->values = alloc_grow(s->values, s->room, sizeof(*s->values));
  }
  while (s->n <= step) { // A long block fills more than one
    s->values[s->n++] = value;
  }
}
