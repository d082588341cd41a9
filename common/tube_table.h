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
/// F_b and F_ab = S_b, all exact at the nodes: a bicubic Hermite surface.  The
/// quotient (F(a1, b) - F(a0, b)) / (a1 - a0) is the mean current while a moves
/// from a0 to a1 in a straight line, which removes most of the aliasing.
/// S. Bilbao, F. Esqueda, J. D. Parker, V. Valimaki, "Antiderivative
/// antialiasing for memoryless nonlinearities", IEEE SPL 24(7), 2017.
///
/// The grid current only charges capacitors: straight lines between nodes will
/// do, if the nodes are set so that each line has the right mean.
///
/// The interpolation error of F has a continuous slope, so that of the quotient
/// is bounded for any step.  No look-up iterates.

#ifndef COMMON_TUBE_TABLE_H
#define COMMON_TUBE_TABLE_H

#include "triode.h"

#include <stdint.h>

/// Axis of a: cells of 1/32 V below the knee, of 1 V above.  Below, S is 0.
#define TUBE_A_MIN   (-10.0)
#define TUBE_A_KNEE  6.0
#define TUBE_A_MAX   262.0
#define TUBE_A_PER_V 32
#define TUBE_A_FINE  512 ///< (TUBE_A_KNEE - TUBE_A_MIN) * TUBE_A_PER_V
#define TUBE_A_NODES (TUBE_A_FINE + 256 + 1)

/// Axis of b: equal steps
#define TUBE_B_ROWS 13

/// F, F_b and their slopes over a at one node: one load of a wide register
typedef struct {
  _Alignas(32) double f;
  double s;
  double f_b;
  double s_b;
} tube_node;

/// 327 KB.  Fill with tube_table_build(), then only read: any number of
/// threads may share it.
typedef struct {
  tube_node node[TUBE_B_ROWS][TUBE_A_NODES];
  double    grid[TUBE_A_NODES]; ///< Grid current, to be interpolated linearly
  double    grid_ohm, plate_ohm;
  double    b_min, b_step, rows_per_v;

  /// Weights of {F, S, F_b, S_b} in the row below (above) at the share y of the
  /// way up: (1 - y)^2 (y^2) times base + y slope
  double below_base[4], below_slope[4], above_base[4], above_slope[4];
} tube_table;

/// What a solver finds
typedef struct {
  double v;              ///< Grid voltage against the cathode
  double ia, ia_a, ia_b; ///< Plate current and its slopes over a and b
  double ig, ig_a;       ///< Grid current and its slope over a
} tube_solution;

/// Exact solution by bracketed Newton iteration, to 1e-12 A.  Not for the audio
/// thread.
tube_solution
tube_solve(const triode* tube,
           double        grid_ohm,
           double        plate_ohm,
           double        a,
           double        b);

/// Fill for b from `b_min` to `b_max`.  Not for the audio thread (tens of ms).
void
tube_table_build(tube_table*   table,
                 const triode* tube,
                 double        grid_ohm,
                 double        plate_ohm,
                 double        b_min,
                 double        b_max);

/// Solution from the table, without `v`; a is clamped to it, b must be inside.
/// Real-time safe.
tube_solution
tube_table_at(const tube_table* table, double a, double b);

/// Where `a` lies on its axis: cell, share of the cell, width of the cell in V
typedef struct {
  uint32_t cell;
  double   share, width;
} tube_place;

static inline tube_place
tube_locate(double a)
{
  // Cells counted from the start: one piecewise straight line, and no branch
  const double  fine  = (a - TUBE_A_MIN) * TUBE_A_PER_V;
  const double  low   = fine < TUBE_A_FINE ? fine : TUBE_A_FINE;
  const double  above = a - TUBE_A_KNEE;
  const double  high  = above < TUBE_A_MAX - TUBE_A_KNEE ? above : 255.999;
  const double  at    = (low > 0.0 ? low : 0.0) + (high > 0.0 ? high : 0.0);
  const int32_t cell  = (int32_t)at;
  return (tube_place){
    .cell  = (uint32_t)cell,
    .share = at - cell,
    .width = at < TUBE_A_FINE ? 1.0 / TUBE_A_PER_V : 1.0,
  };
}

/// Row of `b`, so that row and row + 1 are around it
static inline uint32_t
tube_row(const tube_table* t, double b)
{
  const double at  = (b - t->b_min) * t->rows_per_v;
  const double top = TUBE_B_ROWS - 2;
  return (uint32_t)(at < 0.0 ? 0.0 : at > top ? top : at);
}

#endif // COMMON_TUBE_TABLE_H
