// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Linear equations whose solutions are known

#include "tests/support/check.h"

#include "common/core/solve.h"

enum { N = 5 };

// The inverse of the Hilbert matrix 1 / (i + j + 1) of order 5, in whole
// numbers (M.-D. Choi, "Tricks or treats with the Hilbert matrix", American
// Mathematical Monthly 90 (1983), from memory; its product with the matrix is
// the unit matrix).  Condition number 4.8e5.
static const double inverse[N][N] = {
  {25, -300, 1050, -1400, 630},
  {-300, 4800, -18900, 26880, -12600},
  {1050, -18900, 79380, -117600, 56700},
  {-1400, 26880, -117600, 179200, -88200},
  {630, -12600, 56700, -88200, 44100},
};

static void
hilbert(double* a, uint32_t columns)
{
  for (uint32_t i = 0; i < N; ++i) {
    for (uint32_t j = 0; j < N; ++j) {
      a[i * columns + j] = 1.0 / (i + j + 1);
    }
  }
}

/// `late`: rows are divided after all steps
static void
invert(double* a, bool late)
{
  for (uint32_t k = 0; k < N; ++k) {
    solve_step(a, N, 2 * N, k);
    if (!late) {
      solve_divide(a, 2 * N, k);
    }
  }
  for (uint32_t k = 0; late && k < N; ++k) {
    solve_divide(a, 2 * N, k);
  }
}

static void
test_inverts_the_hilbert_matrix(void** state)
{
  (void)state;
  for (int late = 0; late < 2; ++late) {
    double a[N][2 * N] = {{0.0}};
    hilbert(a[0], 2 * N);
    for (uint32_t i = 0; i < N; ++i) {
      a[i][N + i] = 1.0;
    }
    invert(a[0], late);
    for (uint32_t i = 0; i < N; ++i) {
      for (uint32_t j = 0; j < N; ++j) {
        assert_near(a[i][N + j] / inverse[i][j], 1.0, 1e-10);
      }
    }
  }
}

/// It is symmetric and positive definite
static void
test_factors_serve_any_right_hand_side(void** state)
{
  (void)state;
  double a[N][N];
  hilbert(a[0], N);
  solve_factor(a[0], N);
  for (uint32_t j = 0; j < N; ++j) {
    double x[N] = {0.0};
    x[j]        = 1.0;
    solve_for(a[0], N, x);
    for (uint32_t i = 0; i < N; ++i) {
      assert_near(x[i] / inverse[i][j], 1.0, 1e-10);
    }
  }
}

/// Zeros on the diagonal: x2 = 3, x3 = 5, x1 = 7, and 1e-20 x1 + x2 = 1,
/// x1 + x2 = 2, both of which fail without an exchange of rows
static void
test_exchanges_rows(void** state)
{
  (void)state;
  double turned[3][4] = {{0, 1, 0, 3}, {0, 0, 1, 5}, {1, 0, 0, 7}};
  for (uint32_t k = 0; k < 3; ++k) {
    solve_step(turned[0], 3, 4, k);
    solve_divide(turned[0], 4, k);
  }
  assert_true(turned[0][3] == 7.0 && turned[1][3] == 3.0 &&
              turned[2][3] == 5.0);

  double small[2][3] = {{1e-20, 1, 1}, {1, 1, 2}};
  for (uint32_t k = 0; k < 2; ++k) {
    solve_step(small[0], 2, 3, k);
    solve_divide(small[0], 3, k);
  }
  assert_near(small[0][2], 1.0, 1e-15);
  assert_near(small[1][2], 1.0, 1e-15);
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_inverts_the_hilbert_matrix),
    cmocka_unit_test(test_factors_serve_any_right_hand_side),
    cmocka_unit_test(test_exchanges_rows),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
