// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Systems of linear equations for a handful of unknowns: Gaussian elimination.
///
/// A matrix is kept by rows: `n` rows of `columns` numbers, of which the first
/// n are the coefficients and the others right-hand sides, any number of them.
/// After solve_step() for each of the n columns and solve_divide() for each
/// row, every right-hand side has been replaced by its solution.  For
/// right-hand sides that are not known yet, use solve_factor() and solve_for().
///
/// A singular matrix is not detected: the result is not finite.  Real-time
/// safe.

#ifndef COMMON_CORE_SOLVE_H
#define COMMON_CORE_SOLVE_H

#include <math.h>
#include <stddef.h>
#include <stdint.h>

/// Subtracts a share of `from`, in columns from `first` on
static inline void
solve_subtract(double*       to,
               const double* from,
               double        share,
               uint32_t      first,
               uint32_t      columns)
{
  for (uint32_t j = first; j < columns; ++j) {
    to[j] -= share * from[j];
  }
}

/// Exchanges row `k` for the one, from `k` on, with the largest element in
/// column `k` (partial pivoting)
static inline void
solve_pivot(double* a, uint32_t n, uint32_t columns, uint32_t k)
{
  double* const to   = a + (size_t)k * columns;
  double*       best = to;
  for (uint32_t i = k + 1; i < n; ++i) {
    double* const row = a + (size_t)i * columns;
    best              = fabs(row[k]) > fabs(best[k]) ? row : best;
  }
  for (uint32_t j = 0; j < columns; ++j) {
    const double kept = to[j];
    to[j]             = best[j];
    best[j]           = kept;
  }
}

/// Makes column `k` that of the unit matrix, except on the diagonal
/// (Gauss-Jordan)
static inline void
solve_step(double* a, uint32_t n, uint32_t columns, uint32_t k)
{
  const double* const pivot = a + (size_t)k * columns;
  solve_pivot(a, n, columns, k);
  for (uint32_t i = 0; i < n; ++i) {
    double* const row = a + (size_t)i * columns;
    if (row != pivot) {
      // In all columns: those before still hold rounding errors
      solve_subtract(row, pivot, row[k] / pivot[k], 0, columns);
    }
  }
}

/// Divides row `k` from its diagonal on, which becomes 1: right after its step
/// or after all steps, which differ in rounding only
static inline void
solve_divide(double* a, uint32_t columns, uint32_t k)
{
  double* const row = a + (size_t)k * columns;
  for (uint32_t j = columns; j-- > k;) {
    row[j] /= row[k];
  }
}

/// Replaces `a`, n times n, by its triangular factors, for solve_for().  No
/// rows are exchanged: `a` must be symmetric and positive definite, or
/// diagonally dominant.
static inline void
solve_factor(double* a, uint32_t n)
{
  for (uint32_t k = 0; k < n; ++k) {
    const double* const pivot = a + (size_t)k * n;
    for (uint32_t i = k + 1; i < n; ++i) {
      double* const row = a + (size_t)i * n;
      row[k] /= pivot[k]; // The share is kept in place of a zero
      solve_subtract(row, pivot, row[k], k + 1, n);
    }
  }
}

/// Replaces the right-hand side `x` by the solution, from the factors of a
/// matrix
static inline void
solve_for(const double* factors, uint32_t n, double* x)
{
  for (uint32_t k = 0; k < n; ++k) {
    for (uint32_t i = k + 1; i < n; ++i) {
      x[i] -= factors[(size_t)i * n + k] * x[k];
    }
  }
  for (uint32_t k = n; k-- > 0;) {
    const double* const row = factors + (size_t)k * n;
    for (uint32_t j = k + 1; j < n; ++j) {
      x[k] -= row[j] * x[j];
    }
    x[k] /= row[k];
  }
}

#endif // COMMON_CORE_SOLVE_H
