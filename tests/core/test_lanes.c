// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Lanes are single numbers side by side

#include "tests/support/check.h"

#include "common/core/lanes.h"

static void
test_loads_and_stores_anywhere(void** state)
{
  (void)state;
  for (size_t at = 0; at < 5; ++at) {
    float x[9];
    float y[9] = {0};
    for (size_t i = 0; i < 9; ++i) {
      x[i] = (float)(i + 1);
    }
    const f32x4 v = f32x4_load(x + at);
    f32x4_store(y + at, v);
    for (size_t i = 0; i < 4; ++i) {
      assert_true(v[i] == (float)(at + i + 1));
    }
    for (size_t i = 0; i < 9; ++i) {
      assert_true(y[i] == (i >= at && i < at + 4 ? x[i] : 0.0F));
    }
  }
}

static void
test_splat(void** state)
{
  (void)state;
  const f32x4 v = f32x4_splat(-0.1F);
  for (size_t i = 0; i < 4; ++i) {
    assert_true(v[i] == -0.1F);
  }
}

/// 2^24 + 1 is not a float: the sum tells the order of its additions
static void
test_sum_is_in_pairs(void** state)
{
  (void)state;
  const float most = 16777216.0F;
  assert_true(f32x4_sum((f32x4){1.0F, 2.0F, 4.0F, 8.0F}) == 15.0F);
  assert_true(f32x4_sum((f32x4){most, 1.0F, 1.0F, -most}) == 1.0F);
  assert_true(f32x4_sum((f32x4){most, -most, 1.0F, 1.0F}) == 2.0F);
}

/// Each lane rounds as one number does, however wide the type
static void
test_wide_lanes_round_alike(void** state)
{
  (void)state;
  uint32_t seed = 1;
  for (int k = 0; k < 100; ++k) {
    f64x8 a, b;
    f32x8 c, d;
    for (size_t i = 0; i < 8; ++i) {
      a[i] = (double)check_noise(&seed);
      b[i] = (double)check_noise(&seed) + 2.0;
      c[i] = check_noise(&seed);
      d[i] = check_noise(&seed) + 2.0F;
    }
    const f64x8 double_lanes = a / b - a;
    const f32x8 float_lanes  = c / d - c;
    for (size_t i = 0; i < 8; ++i) {
      const double one_double = a[i] / b[i] - a[i];
      const float  one_float  = c[i] / d[i] - c[i];
      assert_true(double_lanes[i] == one_double);
      assert_true(float_lanes[i] == one_float);
    }
  }
}

static void
test_comparisons_are_masks(void** state)
{
  (void)state;
  const f64x4 x    = {-1.0, 2.0, -3.0, 4.0};
  const i64x4 mask = x < 0.0;
  const i32x4 half =
    (i32x4)(f32x4_splat(1.0F) < (f32x4){0.0F, 2.0F, 1.0F, 3.0F});
  for (size_t i = 0; i < 4; ++i) {
    assert_int_equal(mask[i], x[i] < 0.0 ? -1 : 0);
    assert_int_equal(half[i], i % 2 ? -1 : 0);
  }
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_loads_and_stores_anywhere),
    cmocka_unit_test(test_splat),
    cmocka_unit_test(test_sum_is_in_pairs),
    cmocka_unit_test(test_wide_lanes_round_alike),
    cmocka_unit_test(test_comparisons_are_masks),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
