// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Coefficients of a filter over how far it has moved, for filters that move
/// all the time: designed once at a few places, then computed by a polynomial,
/// at a cost that does not depend on that of a design.
///
/// The polynomial through MOVING_DESIGN_PLACES designs, in Newton's form with
/// divided differences (M. Abramowitz, I. A. Stegun, "Handbook of Mathematical
/// Functions", 1964, section 25, from memory).  The places are extrema of a
/// Chebyshev polynomial, the ends among them: there it is exact, and between
/// them nearly as good as any polynomial of its degree.
///
/// Real-time safe.

#ifndef COMMON_SPEAKER_MOVING_DESIGN_H
#define COMMON_SPEAKER_MOVING_DESIGN_H

#include <math.h>
#include <stdint.h>

#define MOVING_DESIGN_PLACES 6

/// Returns place i, from 0 to `end`
static inline double
moving_design_place(uint32_t i, double end)
{
  // (1 - cos(pi i / 5)) / 2
  static const double share[MOVING_DESIGN_PLACES] = {0.0,
                                                     0.09549150281252627,
                                                     0.34549150281252633,
                                                     0.65450849718747367,
                                                     0.90450849718747373,
                                                     1.0};
  return end * share[i];
}

/// Replaces values by their divided differences.  rows: n values for each
/// place, one place after the other.
static inline void
moving_design_differ(double* rows, uint32_t n, double end)
{
  for (uint32_t order = 1; order < MOVING_DESIGN_PLACES; ++order) {
    for (uint32_t i = MOVING_DESIGN_PLACES - 1; i >= order; --i) {
      const double per_step = 1.0 / (moving_design_place(i, end) -
                                     moving_design_place(i - order, end));
      for (uint32_t k = 0; k < n; ++k) {
        rows[n * i + k] = (rows[n * i + k] - rows[n * (i - 1) + k]) * per_step;
      }
    }
  }
}

/// Computes the n values at x, from the rows that moving_design_differ() left
static inline void
moving_design_value(const double* rows,
                    uint32_t      n,
                    double        end,
                    double        x,
                    double*       y)
{
  for (uint32_t k = 0; k < n; ++k) {
    y[k] = rows[n * (MOVING_DESIGN_PLACES - 1) + k];
  }
  for (uint32_t i = MOVING_DESIGN_PLACES - 1; i > 0; --i) {
    const double away = x - moving_design_place(i - 1, end);
    for (uint32_t k = 0; k < n; ++k) {
      y[k] = rows[n * (i - 1) + k] + away * y[k];
    }
  }
}

#endif // COMMON_SPEAKER_MOVING_DESIGN_H
