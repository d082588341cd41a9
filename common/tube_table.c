// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "tube_table.h"

#include <math.h>
#include <stdbool.h>

#define MAX_STEPS 200

/// Grid voltage at which v + grid_ohm Ig(v) = a.  The left side is convex and
/// rising, and v = a is not below the root: Newton's method falls onto it.
static double
solve_grid(const triode_grid_law* law, double grid_ohm, double a)
{
  double v = a;
  for (uint32_t i = 0; i < MAX_STEPS; ++i) {
    double       slope = 0.0;
    const double ig    = triode_grid(law, v, &slope);
    const double step  = (v + grid_ohm * ig - a) / (1.0 + grid_ohm * slope);
    v -= step;
    if (fabs(step) < 1e-13 * (1.0 + fabs(v))) {
      break;
    }
  }
  return v;
}

/// Plate current on the load line: the root of ia - Ia(b - plate_ohm ia, v),
/// whose slope is 1 or more.  Newton's method inside a shrinking bracket.
static double
solve_plate(const triode_plate_law* law, double plate_ohm, double v, double b)
{
  double lo = 0.0;
  double hi = fmax(b, 0.0) / plate_ohm;
  double ia = 0.5 * hi;
  for (uint32_t i = 0; i < MAX_STEPS; ++i) {
    const triode_point p   = triode_plate(law, v, b - plate_ohm * ia);
    const double       off = ia - p.ia;
    if (fabs(off) < 1e-16) {
      break;
    }
    *(off > 0.0 ? &hi : &lo) = ia;

    double next = ia - off / (1.0 + p.gp * plate_ohm);
    if (next <= lo || next >= hi) {
      next = 0.5 * (lo + hi);
    }
    if (next == ia) {
      break;
    }
    ia = next;
  }
  return ia;
}

/// What is left to do once the grid is solved
static tube_solution
solve_from_grid(const triode* tube,
                double        grid_ohm,
                double        plate_ohm,
                double        v,
                double        b)
{
  double             slope = 0.0;
  const double       ig    = triode_grid(&tube->grid, v, &slope);
  const double       v_a   = 1.0 / (1.0 + grid_ohm * slope);
  const double       ia    = solve_plate(&tube->plate, plate_ohm, v, b);
  const triode_point p     = triode_plate(&tube->plate, v, b - plate_ohm * ia);
  const double       share = 1.0 / (1.0 + p.gp * plate_ohm);

  return (tube_solution){
    .v    = v,
    .ia   = ia,
    .ia_a = p.gm * v_a * share,
    .ia_b = p.gp * share,
    .ig   = ig,
    .ig_a = slope * v_a,
  };
}

tube_solution
tube_solve(const triode* tube,
           double        grid_ohm,
           double        plate_ohm,
           double        a,
           double        b)
{
  const double v = solve_grid(&tube->grid, grid_ohm, a);
  return solve_from_grid(tube, grid_ohm, plate_ohm, v, b);
}

/// Position of a node
static double
node_a(uint32_t i)
{
  return i <= TUBE_A_FINE ? TUBE_A_MIN + (double)i / TUBE_A_PER_V
                          : TUBE_A_KNEE + (double)(i - TUBE_A_FINE);
}

static double
node_b(const tube_table* t, uint32_t j)
{
  return t->b_min + j * t->b_step;
}

/// Put currents into node `i`, and antiderivatives that continue node i - 1
static void
set_node(tube_table* t, uint32_t i, double v, const triode* tube)
{
  for (uint32_t j = 0; j < TUBE_B_ROWS; ++j) {
    const tube_solution s =
      solve_from_grid(tube, t->grid_ohm, t->plate_ohm, v, node_b(t, j));
    tube_node* const node = &t->node[j][i];

    *node = (tube_node){
      .f   = i ? node[-1].f : 0.0,
      .s   = s.ia,
      .f_b = i ? node[-1].f_b : 0.0,
      .s_b = s.ia_b,
    };
  }
}

/// Add a share `weight` of the currents at grid voltage `v` to the
/// antiderivatives of node `i`
static void
add_to_node(tube_table*   t,
            uint32_t      i,
            double        weight,
            double        v,
            const triode* tube)
{
  for (uint32_t j = 0; j < TUBE_B_ROWS; ++j) {
    const tube_solution s =
      solve_from_grid(tube, t->grid_ohm, t->plate_ohm, v, node_b(t, j));
    t->node[j][i].f += weight * s.ia;
    t->node[j][i].f_b += weight * s.ia_b;
  }
}

/// Integrate over the cell below node `i`: three-point Gauss-Legendre, above
/// the knee in four pieces
static void
integrate_cell(tube_table* t, uint32_t i, const triode* tube)
{
  static const double at[]     = {-0.77459666924148337704, 0.0,
                                  0.77459666924148337704};
  static const double weight[] = {5.0 / 9.0, 8.0 / 9.0, 5.0 / 9.0};

  const uint32_t n_pieces = i > TUBE_A_FINE ? 4 : 1;
  const double   from     = node_a(i - 1);
  const double   half     = 0.5 * (node_a(i) - from) / n_pieces;
  for (uint32_t piece = 0; piece < n_pieces; ++piece) {
    const double middle = from + (2.0 * piece + 1.0) * half;
    for (uint32_t k = 0; k < 3; ++k) {
      const double a = middle + half * at[k];
      const double v = solve_grid(&tube->grid, t->grid_ohm, a);
      add_to_node(t, i, half * weight[k], v, tube);
    }
  }
}

/// Grid current at `a`
static double
grid_current(const tube_table* t, const triode* tube, double a)
{
  double slope = 0.0;
  return triode_grid(&tube->grid, solve_grid(&tube->grid, t->grid_ohm, a),
                     &slope);
}

/// The mean of a straight line over a cell of width h is h^2 / 12 times the
/// curvature too large
static double
grid_node(const tube_table* t, const triode* tube, uint32_t i)
{
  const double a     = node_a(i);
  const double h     = 1.0 / TUBE_A_PER_V;
  const double here  = grid_current(t, tube, a);
  const double below = grid_current(t, tube, a - h);
  const double above = grid_current(t, tube, a + h);
  return here - (below - 2.0 * here + above) / 12.0;
}

/// Hermite interpolation over a row
static void
set_weights(tube_table* t)
{
  const double h = t->b_step;
  for (uint32_t k = 0; k < 4; ++k) {
    const bool is_slope = k >= 2;
    t->below_base[k]    = is_slope ? 0.0 : 1.0;
    t->below_slope[k]   = is_slope ? h : 2.0;
    t->above_base[k]    = is_slope ? -h : 3.0;
    t->above_slope[k]   = is_slope ? h : -2.0;
  }
}

void
tube_table_build(tube_table*   table,
                 const triode* tube,
                 double        grid_ohm,
                 double        plate_ohm,
                 double        b_min,
                 double        b_max)
{
  table->grid_ohm   = grid_ohm;
  table->plate_ohm  = plate_ohm;
  table->b_min      = b_min;
  table->b_step     = (b_max - b_min) / (TUBE_B_ROWS - 1);
  table->rows_per_v = 1.0 / table->b_step;
  set_weights(table);
  for (uint32_t i = 0; i < TUBE_A_NODES; ++i) {
    set_node(table, i, solve_grid(&tube->grid, grid_ohm, node_a(i)), tube);
    if (i) {
      integrate_cell(table, i, tube);
    }
    table->grid[i] = grid_node(table, tube, i);
  }
}

/// A cubic Hermite polynomial over one cell
typedef struct {
  double p, q;   ///< Values at shares 0 and 1
  double dp, dq; ///< Slopes there
  double width;  ///< Of the cell, in the unit of the slopes
} cubic;

static double
cubic_value(cubic c, double x)
{
  const double rest = 1.0 - x;
  return c.p + x * x * (3.0 - 2.0 * x) * (c.q - c.p) +
         x * rest * (rest * c.dp - x * c.dq) * c.width;
}

static double
cubic_slope(cubic c, double x)
{
  const double rest = 1.0 - x;
  return 6.0 * x * rest * (c.q - c.p) / c.width +
         rest * (1.0 - 3.0 * x) * c.dp + x * (3.0 * x - 2.0) * c.dq;
}

static double
cubic_curvature(cubic c, double x)
{
  const double d = (c.q - c.p) / c.width;
  return (6.0 * (1.0 - 2.0 * x) * d + (6.0 * x - 4.0) * c.dp +
          (6.0 * x - 2.0) * c.dq) /
         c.width;
}

/// F along the row that starts with `n`
static cubic
row_f(const tube_node* n, tube_place at)
{
  n += at.cell;
  return (cubic){n[0].f, n[1].f, n[0].s, n[1].s, at.width};
}

/// F_b along it
static cubic
row_f_b(const tube_node* n, tube_place at)
{
  n += at.cell;
  return (cubic){n[0].f_b, n[1].f_b, n[0].s_b, n[1].s_b, at.width};
}

tube_solution
tube_table_at(const tube_table* table, double a, double b)
{
  const double     inside = fmax(TUBE_A_MIN, fmin(TUBE_A_MAX, a));
  const tube_place at     = tube_locate(inside);
  const uint32_t   j      = tube_row(table, b);
  const double     y      = (b - node_b(table, j)) / table->b_step;
  const double     x      = at.share;

  // Between the rows: S from the slopes of F, and S_a from its curvatures
  const cubic f0 = row_f(table->node[j], at);
  const cubic f1 = row_f(table->node[j + 1], at);
  const cubic g0 = row_f_b(table->node[j], at);
  const cubic g1 = row_f_b(table->node[j + 1], at);

  const cubic s   = {cubic_slope(f0, x), cubic_slope(f1, x), cubic_slope(g0, x),
                     cubic_slope(g1, x), table->b_step};
  const cubic s_a = {cubic_curvature(f0, x), cubic_curvature(f1, x),
                     cubic_curvature(g0, x), cubic_curvature(g1, x),
                     table->b_step};

  const double* const g = &table->grid[at.cell];

  return (tube_solution){
    .ia   = cubic_value(s, y),
    .ia_a = cubic_value(s_a, y),
    .ia_b = cubic_slope(s, y),
    .ig   = g[0] + x * (g[1] - g[0]),
    .ig_a = (g[1] - g[0]) / at.width,
  };
}
