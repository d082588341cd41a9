// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Gaussian elimination without pivoting, the same bits on every machine
/// (repeatable.h): for a matrix whose diagonal dominates, or that is positive
/// definite

#ifndef PRESETS_DEMO_GUITAR_ELIMINATION_H
#define PRESETS_DEMO_GUITAR_ELIMINATION_H

#include <stddef.h>
#include <stdint.h>

/// Solves m x = x in place, `n` equations; `m` has rows of `stride` values and
/// is overwritten
static inline void
elimination_solve(double* m, uint32_t stride, double* x, uint32_t n)
{
  for (uint32_t i = 0; i < n; ++i) {
    const double* const pivot = m + (size_t)i * stride;
    for (uint32_t j = i + 1; j < n; ++j) {
      double* const row = m + (size_t)j * stride;
      const double  f   = row[i] / pivot[i];
      for (uint32_t k = i; k < n; ++k) {
        row[k] -= f * pivot[k];
      }
      x[j] -= f * x[i];
    }
  }
  for (uint32_t i = n; i-- > 0;) {
    const double* const row = m + (size_t)i * stride;
    for (uint32_t k = i + 1; k < n; ++k) {
      x[i] -= row[k] * x[k];
    }
    x[i] /= row[i];
  }
}

#endif // PRESETS_DEMO_GUITAR_ELIMINATION_H
