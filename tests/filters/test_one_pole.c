// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// The recursion four frames at a time, against the plain recursion

#include "tests/support/check.h"

#include "common/filters/one_pole.h"

#include <string.h>

#define N 4096

/// Runs frames in fours, after the first `odd` of them one by one
static void
run(const one_pole* q, one_pole_memory* m, const float* x, float* z, int odd)
{
  int i = 0;
  for (; i < odd; ++i) {
    z[i] = one_pole_next(q, m, x[i]);
  }
  for (; i + 4 <= N; i += 4) {
    f32x4_store(z + i, one_pole_next_four(q, m, f32x4_load(x + i)));
  }
  for (; i < N; ++i) {
    z[i] = one_pole_next(q, m, x[i]);
  }
}

static const double poles[] = {0.0, 0.3, -0.9, 0.9, 0.996, 0.9999};

#define N_POLES (sizeof(poles) / sizeof(poles[0]))

static void
test_it_is_the_recursion(void** state)
{
  (void)state;
  static float x[N], z[N];
  uint32_t     seed = 11;
  for (uint32_t k = 0; k < N_POLES; ++k) {
    const double    p = poles[k];
    const one_pole  q = one_pole_make(p, 1.0 - fabs(p));
    one_pole_memory m = {0};
    for (int i = 0; i < N; ++i) {
      x[i] = check_noise(&seed);
    }
    run(&q, &m, x, z, 0);
    double want  = 0.0;
    double error = 0.0;
    for (int i = 0; i < N; ++i) {
      want  = p * want + (1.0 - fabs(p)) * (double)x[i];
      error = fmax(error, fabs((double)z[i] - want));
    }
    // Rounding in float, and of the powers: 1e-6 of full scale is -120 dBFS
    assert_below(error, 1e-6);
  }
}

static void
test_cuts_do_not_matter(void** state)
{
  (void)state;
  static float x[N], want[N], got[N];
  uint32_t     seed = 12;
  for (int i = 0; i < N; ++i) {
    x[i] = check_noise(&seed);
  }
  for (uint32_t k = 0; k < N_POLES; ++k) {
    const one_pole  q = one_pole_make(poles[k], 0.7);
    one_pole_memory a = {0};
    run(&q, &a, x, want, 0);
    for (int odd = 1; odd < 4; ++odd) {
      one_pole_memory b = {0};
      run(&q, &b, x, got, odd);
      assert_memory_equal(got, want, sizeof(got));
      assert_memory_equal(&a, &b, sizeof(a));
    }
  }
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_it_is_the_recursion),
    cmocka_unit_test(test_cuts_do_not_matter),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
