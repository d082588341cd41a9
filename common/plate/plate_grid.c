// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "plate_grid.h"

#include "common/core/lanes.h"
#include "common/core/solve.h"

#include <string.h>

#define THETA (2.0 * DSP_PI / PLATE_GRID_SIZE)
#define HALF  (PLATE_GRID_BLOCK / 2)
#define TAPS  PLATE_GRID_TAPS

/// Shape of the window's bell, per tap: the best of a sweep (computed)
#define BELL_PER_TAP 2.3

typedef double square[TAPS][TAPS];

/// A Kaiser-Bessel bell of width TAPS has the transform sinh(r) / r, and the
/// window undoes it
static double
window_at(double t)
{
  const double b = BELL_PER_TAP * TAPS;
  const double x = DSP_PI * TAPS * t / PLATE_GRID_SIZE;
  const double r = sqrt(b * b - x * x);
  return r / steady_sinh(r) * steady_sinh(b) / b;
}

/// Coefficients, followed by right-hand sides
enum { COLUMNS = TAPS + PLATE_GRID_SERIES };

/// Replaces each of the first `n` columns of `b` by the solution of a x = b
static void
solve(square a, double b[TAPS][PLATE_GRID_SERIES], uint32_t n)
{
  double both[TAPS][COLUMNS] = {{0}};
  for (uint32_t i = 0; i < TAPS; ++i) {
    memcpy(both[i], a[i], sizeof(a[i]));
    memcpy(both[i] + TAPS, b[i], n * sizeof(b[i][0]));
  }
  for (uint32_t k = 0; k < TAPS; ++k) {
    solve_step(both[0], TAPS, COLUMNS, k);
  }
  for (uint32_t k = 0; k < TAPS; ++k) {
    solve_divide(both[0], COLUMNS, k);
    memcpy(b[k], both[k] + TAPS, n * sizeof(b[k][0]));
  }
}

/// Scalar products, over the block, of a windowed node with oscillations `way`
/// nodes away times (-theta t)^k: real for even k, imaginary for odd ones
static void
moments(const double* window, double way, uint32_t n, double* m)
{
  memset(m, 0, n * sizeof(double));
  m[0] = window[0];
  // cos((t + 1) x) = 2 cos(x) cos(t x) - cos((t - 1) x), sin likewise
  const double twice    = 2.0 * steady_cos(way * THETA);
  double       curve[2] = {0.5 * twice, steady_sin(way * THETA)};
  double       last[2]  = {1.0, 0.0};
  for (int t = 1; t <= HALF; ++t) {
    const double at    = THETA * t;
    double       power = 2.0 * window[t]; // Both sides of the middle
    for (uint32_t k = 0; k < n; ++k) {
      m[k] += power * curve[k % 2];
      power *= -at;
    }
    for (uint32_t k = 0; k < 2; ++k) {
      const double next = twice * curve[k] - last[k];
      last[k]           = curve[k];
      curve[k]          = next;
    }
  }
}

/// Scalar products of the windowed nodes with each other
static void
products_of_nodes(const double* window, square m)
{
  double squared[HALF + 1];
  double by_distance[TAPS];
  for (int t = 0; t <= HALF; ++t) {
    squared[t] = window[t] * window[t];
  }
  for (int p = 0; p < TAPS; ++p) {
    moments(squared, p, 1, &by_distance[p]);
  }
  for (int p = 0; p < TAPS; ++p) {
    for (int q = 0; q < TAPS; ++q) {
      m[p][q] = by_distance[p < q ? q - p : p - q];
    }
  }
}

/// Chebyshev points between -0.5 and 0.5
static void
points(double* x, uint32_t n)
{
  for (uint32_t j = 0; j < n; ++j) {
    x[j] = 0.5 * steady_cos(DSP_PI * (j + 0.5) / n);
  }
}

static void
fit_series(plate_grid* g, const double* window)
{
  square nodes;
  double x[PLATE_GRID_SERIES];
  double c[TAPS][PLATE_GRID_SERIES];
  points(x, PLATE_GRID_SERIES);
  for (int p = 0; p < TAPS; ++p) {
    for (uint32_t j = 0; j < PLATE_GRID_SERIES; ++j) {
      moments(window, x[j] - (p - PLATE_GRID_REACH), 1, &c[p][j]);
    }
  }
  products_of_nodes(window, nodes);
  solve(nodes, c, PLATE_GRID_SERIES);

  memset(g->series, 0, sizeof(g->series));
  for (uint32_t p = 0; p < TAPS; ++p) {
    for (uint32_t k = 0; k < PLATE_GRID_SERIES; ++k) {
      double sum = 0.0;
      for (uint32_t j = 0; j < PLATE_GRID_SERIES; ++j) {
        sum += c[p][j] * steady_cos(DSP_PI * k * (j + 0.5) / PLATE_GRID_SERIES);
      }
      g->series[k][p] = sum * (k ? 2.0 : 1.0) / PLATE_GRID_SERIES;
    }
  }
}

/// Weights of seven oscillations times (-theta t)^k, for all k
static void
fit_moments(const double* window,
            double        c[PLATE_GRID_POWERS][TAPS][PLATE_GRID_SERIES])
{
  double x[TAPS];
  points(x, TAPS);
  for (int p = 0; p < TAPS; ++p) {
    for (uint32_t j = 0; j < TAPS; ++j) {
      double m[PLATE_GRID_POWERS];
      moments(window, x[j] - (p - PLATE_GRID_REACH), PLATE_GRID_POWERS, m);
      for (uint32_t k = 0; k < PLATE_GRID_POWERS; ++k) {
        c[k][p][j] = m[k];
      }
    }
  }
  for (uint32_t k = 0; k < PLATE_GRID_POWERS; ++k) {
    square nodes;
    products_of_nodes(window, nodes);
    solve(nodes, c[k], TAPS);
  }
}

/// The family of weights has as many dimensions as there are taps, so that
/// seven oscillations fix each matrix: D c_0 = c_k, solved in transposed form
static void
fit_powers(plate_grid* g, const double* window)
{
  double c[PLATE_GRID_POWERS][TAPS][PLATE_GRID_SERIES];
  double factorial = 1.0;
  memset(g->spread, 0, sizeof(g->spread));
  memset(g->gather, 0, sizeof(g->gather));
  fit_moments(window, c);
  for (uint32_t k = 0; k < PLATE_GRID_POWERS; ++k) {
    square turned;
    double d[TAPS][PLATE_GRID_SERIES];
    for (uint32_t p = 0; p < TAPS; ++p) {
      for (uint32_t j = 0; j < TAPS; ++j) {
        turned[j][p] = c[0][p][j];
        d[j][p]      = c[k][p][j];
      }
    }
    solve(turned, d, TAPS);
    factorial *= k ? k : 1.0;
    for (uint32_t p = 0; p < TAPS; ++p) {
      for (uint32_t q = 0; q < TAPS; ++q) {
        const float power  = (float)(d[q][p] / factorial);
        g->spread[k][q][p] = power;
        g->gather[k][p][q] = power;
      }
    }
  }
}

void
plate_grid_init(plate_grid* g)
{
  double window[HALF + 1];
  for (int t = 0; t <= HALF; ++t) {
    window[t] = window_at(t);
  }
  for (int t = 0; t < PLATE_GRID_BLOCK; ++t) {
    g->window[t] = (float)window[t < HALF ? HALF - t : t - HALF];
  }
  fit_series(g, window);
  fit_powers(g, window);
}

void
plate_grid_weights(const plate_grid* g, double x, double c[8])
{
  // Clenshaw's recurrence, for all taps side by side
  const double y  = 4.0 * x; // Twice the argument of the polynomials
  f64x8        b1 = {0};
  f64x8        b2 = {0};
  f64x8        term;
  for (uint32_t k = PLATE_GRID_SERIES - 1; k > 0; --k) {
    memcpy(&term, g->series[k], sizeof(term));
    const f64x8 b0 = term + y * b1 - b2;
    b2             = b1;
    b1             = b0;
  }
  memcpy(&term, g->series[0], sizeof(term));
  term = term + 0.5 * y * b1 - b2;
  memcpy(c, &term, sizeof(term));
}

/// Powers of the real and of the imaginary part
#define LAST_EVEN ((size_t)(PLATE_GRID_POWERS - 1) / 2 * 2)
#define LAST_ODD  ((size_t)(PLATE_GRID_POWERS - 2) / 2 * 2 + 1)

/// Four rows of one column, from `at` on.  The last powers first: they are the
/// smallest.
static inline f32x4
sum_powers(const plate_grid_part* power,
           const float*           factor,
           size_t                 at,
           size_t                 k)
{
  f32x4 sum = {0};
  for (; k < PLATE_GRID_POWERS; k -= 2) { // Until it wraps around
    sum += factor[k] * f32x4_load(&power[k][0][0] + at);
  }
  return sum;
}

static void
fill_matrix(const plate_grid_part* power,
            double                 loss,
            double                 gain,
            plate_grid_matrix*     m)
{
  float  factor[PLATE_GRID_POWERS];
  double now = gain;
  for (uint32_t k = 0; k < PLATE_GRID_POWERS; ++k) {
    factor[k] = (float)now;
    now *= loss / THETA;
  }
  for (size_t at = 0; at < TAPS * (size_t)8; at += 4) {
    const f32x4 re = sum_powers(power, factor, at, LAST_EVEN);
    const f32x4 im = sum_powers(power, factor, at, LAST_ODD);
    f32x4_store(m->re[at / 8] + at % 8, re);
    f32x4_store(m->im[at / 8] + at % 8, im);
  }
}

void
plate_grid_spread(const plate_grid* g, double loss, plate_grid_matrix* m)
{
  fill_matrix(g->spread, loss, 1.0, m);
}

void
plate_grid_gather(const plate_grid*  g,
                  double             loss,
                  double             gain,
                  plate_grid_matrix* m)
{
  fill_matrix(g->gather, loss, gain, m);
}
