// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "steps.h"

#include <math.h>
#include <stdbool.h>

/// A step of 1, 2 or 5 in some decade, so that all points are round numbers
typedef struct {
  double step;
  double fine_step;  ///< Where the range is narrow
  double narrow_for; ///< Widest range with fine steps
} linear_steps;

static const linear_steps linear[] = {
  [UNIT_NONE] = {0.1, 0.1, 0.0}, // A ratio
  [UNIT_CM] = {0.5, 0.5, 0.0},     [UNIT_DB] = {1.0, 0.5, 24.0},
  [UNIT_FRAMES] = {1.0, 1.0, 0.0}, [UNIT_HZ] = {5.0, 5.0, 0.0},
  [UNIT_M] = {0.1, 0.1, 0.0},      [UNIT_M3] = {1.0, 1.0, 0.0},
  [UNIT_MS] = {1.0, 1.0, 0.0},     [UNIT_OCT] = {0.1, 0.05, 1.0},
  [UNIT_OHM] = {0.5, 0.5, 0.0},    [UNIT_PC] = {1.0, 0.05, 1.0},
  [UNIT_S] = {0.1, 0.1, 0.0},
};

/// Of logarithmic steps, in an octave: a third of a semitone for a frequency,
/// else 6 %, or half a decibel
static double
steps_in_octave(param_unit unit)
{
  return unit == UNIT_HZ ? 36.0 : 12.0;
}

uint32_t
steps_points(const param_info* p)
{
  const double min = (double)p->min;
  const double max = (double)p->max;
  if (p->taper == TAPER_LOG) {
    return 1U + (uint32_t)lrint(log2(max / min) * steps_in_octave(p->unit));
  }
  const linear_steps* const s      = &linear[p->unit];
  const double              range  = max - min;
  const bool                narrow = range <= s->narrow_for;
  return 1U + (uint32_t)lrint(range / (narrow ? s->fine_step : s->step));
}
