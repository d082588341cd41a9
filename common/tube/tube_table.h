// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// The resistive part of a common-cathode stage, solved once and tabulated.
///
/// Capacitors of such a stage are slow against the sample period: at any moment
/// they are voltage sources, and what remains is a tube between resistors,
///
///   a --grid_ohm-- grid                 grid:   v + grid_ohm Ig(v) = a
///   b --plate_ohm-- plate               plate:  ia = Ia(b - plate_ohm ia, v)
///
/// both sources against the cathode.  So the plate current is a function of two
/// numbers, S(a, b), the grid current of one, and neither depends on the sample
/// rate.
///
/// The table holds not S but its antiderivative over a, F(a, b), with F_a = S,
/// F_b and F_ab = S_b, all exact where rows and edges of cells meet: a bicubic
/// Hermite surface, kept as polynomials over a.  The quotient
/// (F(a1, b) - F(a0, b)) / (a1 - a0) is the mean current while a moves from a0
/// to a1 in a straight line, which removes most of the aliasing.
/// S. Bilbao, F. Esqueda, J. D. Parker, V. Valimaki, "Antiderivative
/// antialiasing for memoryless nonlinearities", IEEE SPL 24(7), 2017.
///
/// The grid current only charges capacitors: a straight line in each cell will
/// do, if it has the right mean.
///
/// The interpolation error of F has a continuous slope, so that of the quotient
/// is bounded for any step.  No look-up iterates.

#ifndef COMMON_TUBE_TUBE_TABLE_H
#define COMMON_TUBE_TUBE_TABLE_H

#include "triode.h"

#include <stdint.h>

/// Axis of a: cells of 1/32 V, of 1/8 V from the first knee on and of 1 V from
/// the second.  Below, S is 0.
#define TUBE_A_MIN    (-9.0)
#define TUBE_A_KNEE   1.0
#define TUBE_A_KNEE_2 6.0
#define TUBE_A_MAX    262.0
#define TUBE_A_PER_V  32.0
#define TUBE_A_PER_V2 8.0
#define TUBE_A_FINE   320 ///< (TUBE_A_KNEE - TUBE_A_MIN) * TUBE_A_PER_V
#define TUBE_A_MIDDLE 40  ///< (TUBE_A_KNEE_2 - TUBE_A_KNEE) * TUBE_A_PER_V2
#define TUBE_A_CELLS  (TUBE_A_FINE + TUBE_A_MIDDLE + 256)

/// The number of a cell (whole in its middle) is the lowest of three straight
/// lines over a: their values at 0 V
#define TUBE_A_AT_0   (TUBE_A_FINE - 0.5 - TUBE_A_KNEE * TUBE_A_PER_V)
#define TUBE_A_AT_0_2 (TUBE_A_FINE - 0.5 - TUBE_A_KNEE * TUBE_A_PER_V2)
#define TUBE_A_AT_0_3 (TUBE_A_FINE + TUBE_A_MIDDLE - 0.5 - TUBE_A_KNEE_2)

/// Axis of b: equal steps
#define TUBE_B_ROWS 13

/// F and F_b in one cell of one row, as polynomials (constant first) in the
/// volts that a is above the middle of the cell: one cache line
typedef struct {
  _Alignas(64) double f[4];
  double f_b[4];
} tube_cell;

/// 524 KB.  Fill with tube_table_build(), then only read: any number of
/// threads may share it.
typedef struct {
  tube_cell cell[TUBE_B_ROWS][TUBE_A_CELLS];

  /// Grid current in the middle of a cell, and its slope there
  double ig[TUBE_A_CELLS], ig_a[TUBE_A_CELLS];

  double grid_ohm, plate_ohm;
  double b_min, b_step, rows_per_v;
} tube_table;

/// A solution
typedef struct {
  double v;              ///< Grid voltage against the cathode
  double ia, ia_a, ia_b; ///< Plate current and its slopes over a and b
  double ig, ig_a;       ///< Grid current and its slope over a
} tube_solution;

/// Solves exactly, by bracketed Newton iteration, to 1e-12 A.  Not for the
/// audio thread.
tube_solution
tube_solve(const triode* tube,
           double        grid_ohm,
           double        plate_ohm,
           double        a,
           double        b);

/// Fills the table for b from `b_min` to `b_max`.  Not for the audio thread
/// (tens of ms).
void
tube_table_build(tube_table*   table,
                 const triode* tube,
                 double        grid_ohm,
                 double        plate_ohm,
                 double        b_min,
                 double        b_max);

/// Reads the solution from the table, without `v`; a is clamped to it, b must
/// be inside.  Real-time safe.
tube_solution
tube_table_at(const tube_table* table, double a, double b);

/// Where `a` lies on its axis: the cell, and how far from its middle, in V
typedef struct {
  uint32_t cell;
  double   off_v;
} tube_place;

static inline tube_place
tube_locate(double a)
{
  double at    = a * TUBE_A_PER_V + TUBE_A_AT_0;
  double width = 1.0 / TUBE_A_PER_V;
  if (a >= TUBE_A_KNEE_2) {
    at    = a + TUBE_A_AT_0_3;
    width = 1.0;
  } else if (a >= TUBE_A_KNEE) {
    at    = a * TUBE_A_PER_V2 + TUBE_A_AT_0_2;
    width = 1.0 / TUBE_A_PER_V2;
  }
  at                  = at > -0.5 ? at : -0.5;
  const int32_t whole = (int32_t)(at + 0.5);
  const int32_t cell  = whole < TUBE_A_CELLS ? whole : TUBE_A_CELLS - 1;
  return (tube_place){.cell = (uint32_t)cell, .off_v = (at - cell) * width};
}

/// Returns the row of `b`: row and row + 1 are around it
static inline uint32_t
tube_row(const tube_table* t, double b)
{
  const double at  = (b - t->b_min) * t->rows_per_v;
  const double top = TUBE_B_ROWS - 2;
  return (uint32_t)(at < 0.0 ? 0.0 : at > top ? top : at);
}

#endif // COMMON_TUBE_TUBE_TABLE_H
