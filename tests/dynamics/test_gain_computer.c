// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// The static curve against the equations of Giannoulis, Massberg and Reiss
/// (2012) and against values worked out from them

#include "tests/support/check.h"

#include "common/dynamics/gain_computer.h"

static double
reduction_db(double x, double t, double ratio, double knee)
{
  return (double)gain_computer_reduction_db(
    (float)(x - t), (float)gain_computer_slope(ratio), (float)knee);
}

/// Reduction at levels around T = -20 dBFS, ratio 3, for knees of 0, 3, 6, 12
static const struct {
  double level, knee_0, knee_3, knee_6, knee_12;
} ratio_3[] = {
  {-26, 0, 0, 0, 0},
  {-24, 0, 0, 0, 0.1111},
  {-22, 0, 0, 0.0556, 0.4444},
  {-21, 0, 0.0278, 0.2222, 0.6944},
  {-20, 0, 0.2500, 0.5000, 1.0000},
  {-19, 0.6667, 0.6944, 0.8889, 1.3611},
  {-18, 1.3333, 1.3333, 1.3889, 1.7778},
  {-16, 2.6667, 2.6667, 2.6667, 2.7778},
  {-14, 4.0000, 4.0000, 4.0000, 4.0000},
  {-8, 8.0000, 8.0000, 8.0000, 8.0000},
  {-2, 12.0000, 12.0000, 12.0000, 12.0000},
  {0, 13.3333, 13.3333, 13.3333, 13.3333},
};

static void
test_worked_values(void** state)
{
  (void)state;

  for (uint32_t i = 0; i < sizeof(ratio_3) / sizeof(ratio_3[0]); ++i) {
    const double x = ratio_3[i].level;
    assert_near(reduction_db(x, -20, 3, 0), ratio_3[i].knee_0, 1e-4);
    assert_near(reduction_db(x, -20, 3, 3), ratio_3[i].knee_3, 1e-4);
    assert_near(reduction_db(x, -20, 3, 6), ratio_3[i].knee_6, 1e-4);
    assert_near(reduction_db(x, -20, 3, 12), ratio_3[i].knee_12, 1e-4);
  }

  static const double ratio_4[][2] = {
    {-21, 0.0312}, {-20, 0.2812}, {-19, 0.7812}, {-14, 4.5}, {-8, 9}, {0, 15}};
  for (uint32_t i = 0; i < 6; ++i) {
    assert_near(reduction_db(ratio_4[i][0], -20, 4, 3), ratio_4[i][1], 1e-4);
  }
}

/// The three cases as printed, in double
static double
printed_db(double x, double t, double ratio, double w)
{
  const double d = x - t;
  const double y = 2.0 * d < -w ? x
                   : 2.0 * fabs(d) <= w && w > 0.0
                     ? x + (1.0 / ratio - 1.0) * pow(d + w / 2.0, 2) / (2.0 * w)
                     : t + d / ratio;
  return x - y;
}

static const double knees[]  = {0, 1, 3, 6, 12, 24};
static const double ratios[] = {1, 1.5, 2, 3, 4, 20};

static void
test_printed_equations(void** state)
{
  (void)state;

  for (uint32_t k = 0; k < 36; ++k) {
    const double w    = knees[k / 6];
    const double r    = ratios[k % 6];
    double       last = 0.0;
    for (int i = -600; i <= 600; ++i) {
      const double x   = -14.0 + 0.1 * i + 0.003;
      const double got = reduction_db(x, -14.0, r, w);
      // Float: 1e-6 of the level, 60 dB at most
      assert_near(got, printed_db(x, -14.0, r, w), 1e-5);
      assert_true(got >= last);
      last = got;
    }
  }
}

static void
test_knee(void** state)
{
  (void)state;

  // GR(T) = (1 - 1/R) W/8; the slope of y is 1 where the knee begins and 1/R
  // where it ends, from both sides
  for (uint32_t k = 0; k < 36; ++k) {
    const double w = knees[k / 6];
    const double r = ratios[k % 6];
    assert_near(reduction_db(0, 0, r, w), (1.0 - 1.0 / r) * w / 8.0, 1e-6);
    if (w == 0.0) {
      continue;
    }
    const double h     = 1e-3 * w;
    const double start = -w / 2.0;
    const double end   = w / 2.0;
    assert_near(reduction_db(start + h, 0, r, w) / h, 0.0, 1e-3);
    assert_near(reduction_db(start - h, 0, r, w), 0.0, 0.0);
    const double at_end = reduction_db(end, 0, r, w);
    const double inside = (at_end - reduction_db(end - h, 0, r, w)) / h;
    const double behind = (reduction_db(end + h, 0, r, w) - at_end) / h;
    assert_near(inside, 1.0 - 1.0 / r, 2e-3);
    assert_near(behind, 1.0 - 1.0 / r, 2e-3);
  }
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_worked_values),
    cmocka_unit_test(test_printed_equations),
    cmocka_unit_test(test_knee),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
