// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "tube_table.h"

#include "common/core/dsp.h"

#define MAX_STEPS 200

/// Grid voltage at which v + grid_ohm Ig(v) = a.  The left side is convex and
/// rising, and v = a is not below the root: Newton's method descends to it.
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

/// Rounds to 2^-46 of an ampere or a siemens, -220 dB of what a stage draws:
/// what Newton's method leaves depends on the last bits of libm
/// (common/core/steady.h), and the tables are to be the same everywhere
static double
settled(double x)
{
  return ldexp(round(ldexp(x, 46)), -46);
}

/// Solves the rest once the grid is solved
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
    .ia   = settled(ia),
    .ia_a = settled(p.gm * v_a * share),
    .ia_b = settled(p.gp * share),
    .ig   = settled(ig),
    .ig_a = settled(slope * v_a),
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

/// Lower edge of a cell
static double
edge_a(uint32_t i)
{
  if (i <= TUBE_A_FINE) {
    return TUBE_A_MIN + i / TUBE_A_PER_V;
  }
  const uint32_t past = i - TUBE_A_FINE;
  return past <= TUBE_A_MIDDLE ? TUBE_A_KNEE + past / TUBE_A_PER_V2
                               : TUBE_A_KNEE_2 + (past - TUBE_A_MIDDLE);
}

static double
row_b(const tube_table* t, uint32_t j)
{
  return t->b_min + j * t->b_step;
}

/// F, S and their slopes over b at an edge, for all rows
typedef struct {
  double f[TUBE_B_ROWS], s[TUBE_B_ROWS];
  double f_b[TUBE_B_ROWS], s_b[TUBE_B_ROWS];
} edge;

/// Puts currents at the grid voltage `v` into an edge
static void
set_currents(const tube_table* t, const triode* tube, double v, edge* e)
{
  for (uint32_t j = 0; j < TUBE_B_ROWS; ++j) {
    const tube_solution s =
      solve_from_grid(tube, t->grid_ohm, t->plate_ohm, v, row_b(t, j));
    e->s[j]   = s.ia;
    e->s_b[j] = s.ia_b;
  }
}

/// Adds a share `weight` of the currents at grid voltage `v` to the
/// antiderivatives of an edge
static void
add_to_edge(const tube_table* t,
            const triode*     tube,
            double            weight,
            double            v,
            edge*             e)
{
  for (uint32_t j = 0; j < TUBE_B_ROWS; ++j) {
    const tube_solution s =
      solve_from_grid(tube, t->grid_ohm, t->plate_ohm, v, row_b(t, j));
    e->f[j] += weight * s.ia;
    e->f_b[j] += weight * s.ia_b;
  }
}

/// Integrates over cell `i`, to the edge above it: three-point Gauss-Legendre
/// in pieces of 1/4 V or less
static void
integrate_cell(const tube_table* t, const triode* tube, uint32_t i, edge* e)
{
  static const double at[]     = {-0.77459666924148337704, 0.0,
                                  0.77459666924148337704};
  static const double weight[] = {5.0 / 9.0, 8.0 / 9.0, 5.0 / 9.0};

  const uint32_t n_pieces = i >= TUBE_A_FINE + TUBE_A_MIDDLE ? 4 : 1;
  const double   from     = edge_a(i);
  const double   half     = 0.5 * (edge_a(i + 1) - from) / n_pieces;
  for (uint32_t piece = 0; piece < n_pieces; ++piece) {
    const double middle = from + (2.0 * piece + 1.0) * half;
    for (uint32_t k = 0; k < 3; ++k) {
      const double a = middle + half * at[k];
      const double v = solve_grid(&tube->grid, t->grid_ohm, a);
      add_to_edge(t, tube, half * weight[k], v, e);
    }
  }
}

/// Sets the cubic over a cell of `width` with values p, q and slopes dp, dq at
/// its ends, from its middle
static void
set_cubic(double* c, double width, double p, double q, double dp, double dq)
{
  const double rise = (q - p) / width;
  c[0]              = 0.5 * (p + q) - width * (dq - dp) / 8.0;
  c[1]              = 1.5 * rise - 0.25 * (dp + dq);
  c[2]              = (dq - dp) / (2.0 * width);
  c[3]              = (dp + dq - 2.0 * rise) / (width * width);
}

/// Sets cell `i`, between the edges below and above it
static void
set_cell(tube_table* t, uint32_t i, const edge* below, const edge* above)
{
  const double width = edge_a(i + 1) - edge_a(i);
  for (uint32_t j = 0; j < TUBE_B_ROWS; ++j) {
    tube_cell* const cell = &t->cell[j][i];
    set_cubic(cell->f, width, below->f[j], above->f[j], below->s[j],
              above->s[j]);
    set_cubic(cell->f_b, width, below->f_b[j], above->f_b[j], below->s_b[j],
              above->s_b[j]);
  }
}

/// Grid current at `a`
static double
grid_current(const tube_table* t, const triode* tube, double a)
{
  double       slope = 0.0;
  const double v     = solve_grid(&tube->grid, t->grid_ohm, a);
  return settled(triode_grid(&tube->grid, v, &slope));
}

/// Grid current at an edge.  The mean of a straight line over a cell of width h
/// is h^2 / 12 times the curvature too large.
static double
grid_edge(const tube_table* t, const triode* tube, uint32_t i)
{
  const double a     = edge_a(i);
  const double h     = 1.0 / TUBE_A_PER_V;
  const double here  = grid_current(t, tube, a);
  const double below = grid_current(t, tube, a - h);
  const double above = grid_current(t, tube, a + h);
  return here - (below - 2.0 * here + above) / 12.0;
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

  edge   below = {.f = {0.0}};
  double ig    = grid_edge(table, tube, 0);
  set_currents(table, tube, solve_grid(&tube->grid, grid_ohm, TUBE_A_MIN),
               &below);
  for (uint32_t i = 0; i < TUBE_A_CELLS; ++i) {
    const double end   = edge_a(i + 1);
    edge         above = below;
    integrate_cell(table, tube, i, &above);
    set_currents(table, tube, solve_grid(&tube->grid, grid_ohm, end), &above);
    set_cell(table, i, &below, &above);
    below = above;

    const double ig_end = grid_edge(table, tube, i + 1);
    table->ig[i]        = 0.5 * (ig + ig_end);
    table->ig_a[i]      = (ig_end - ig) / (end - edge_a(i));
    ig                  = ig_end;
  }
}

/// Between two rows: values p, q and slopes dp, dq there
typedef struct {
  double p, q, dp, dq;
  double width; ///< Between the rows
} cubic;

static double
cubic_value(cubic c, double x)
{
  const double rest = 1.0 - x;
  return c.p + smoothstepd(x) * (c.q - c.p) +
         x * rest * (rest * c.dp - x * c.dq) * c.width;
}

static double
cubic_slope(cubic c, double x)
{
  const double rest = 1.0 - x;
  return 6.0 * x * rest * (c.q - c.p) / c.width +
         rest * (1.0 - 3.0 * x) * c.dp + x * (3.0 * x - 2.0) * c.dq;
}

/// Slope of a polynomial of a cell, and its curvature
static double
slope_at(const double* c, double x)
{
  return c[1] + x * (2.0 * c[2] + x * (3.0 * c[3]));
}

static double
curvature_at(const double* c, double x)
{
  return 2.0 * c[2] + x * (6.0 * c[3]);
}

tube_solution
tube_table_at(const tube_table* table, double a, double b)
{
  const double     inside = fmax(TUBE_A_MIN, fmin(TUBE_A_MAX, a));
  const tube_place at     = tube_locate(inside);
  const uint32_t   j      = tube_row(table, b);
  const double     y      = (b - row_b(table, j)) / table->b_step;
  const double     x      = at.off_v;

  // Between the rows: S from the slopes of F, and S_a from its curvatures
  const tube_cell* const low  = &table->cell[j][at.cell];
  const tube_cell* const high = &table->cell[j + 1][at.cell];
  const cubic            s    = {slope_at(low->f, x), slope_at(high->f, x),
                                 slope_at(low->f_b, x), slope_at(high->f_b, x),
                                 table->b_step};
  const cubic s_a = {curvature_at(low->f, x), curvature_at(high->f, x),
                     curvature_at(low->f_b, x), curvature_at(high->f_b, x),
                     table->b_step};

  const double ig_a = table->ig_a[at.cell];
  return (tube_solution){
    .ia   = cubic_value(s, y),
    .ia_a = cubic_value(s_a, y),
    .ia_b = cubic_slope(s, y),
    .ig   = table->ig[at.cell] + x * ig_a,
    .ig_a = ig_a,
  };
}
