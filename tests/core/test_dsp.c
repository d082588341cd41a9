// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Decibels, shares and steps against their definitions

#include "tests/support/check.h"

/// What common/core/steady.h leaves off: half of the last of 41 bits
#define STEADY 4.5474735088646412e-13

static void
test_steady(void** state)
{
  (void)state;
  static const double exact[] = {0.0,  1.0,    -1.0,       0.5,           3.0,
                                 0.25, 1024.5, 2097151.75, 549755813888.0};
  for (size_t i = 0; i < sizeof(exact) / sizeof(exact[0]); ++i) {
    assert_true(steady(exact[i]) == exact[i]);
    assert_true(steady(nextafter(exact[i], 1e300)) == exact[i]);
    assert_true(steady(nextafter(exact[i], -1e300)) == exact[i]);
  }
  assert_true(isinf(steady(HUGE_VAL)) && isinf(steady(-HUGE_VAL)));
  assert_true(isnan(steady(nan(""))));
  for (int i = 0; i < 10000; ++i) {
    const double x =
      ldexp(0.5 - fmod(i * 0.61803398874989485, 1.0), i % 200 - 100);
    assert_near(steady(x), x, STEADY * fabs(x));
    assert_true(steady(steady(x)) == steady(x));
  }
  assert_near(steady_exp(-1.0), 0.36787944117144233, 0.5 * STEADY);
  assert_near(steady_pow(10.0, 0.5), 3.1622776601683795, 4.0 * STEADY);
}

static void
test_decibels(void** state)
{
  (void)state;
  // Levels of amplitudes, 20 lg (IEC 60027-3)
  assert_near(db_to_gain(20.0), 10.0, 1e-14);
  assert_near(db_to_gain(0.0), 1.0, 0.0);
  assert_near(db_to_gain(-3.0102999566398120), sqrt(0.5), STEADY);
  assert_near(gain_to_db(2.0), 6.0205999132796239, 8.7 * STEADY);
  for (double db = -200.0; db <= 60.0; db += 0.7) {
    assert_near(gain_to_db(db_to_gain(db)), db, (8.7 + fabs(db)) * STEADY);
  }
}

static void
test_clamps(void** state)
{
  (void)state;
  assert_true(clampd(-1.5, -1.0, 2.0) == -1.0 && clampd(3.0, -1.0, 2.0) == 2.0);
  assert_true(clampd(0.3, -1.0, 2.0) == 0.3);
  assert_true(clampf(-1.5F, -1.0F, 2.0F) == -1.0F);
  assert_true(clampf(3.0F, -1.0F, 2.0F) == 2.0F);
  assert_true(clampf(0.3F, -1.0F, 2.0F) == 0.3F);
}

/// A step response is 1 - 1/e of the way there after the time constant
static void
test_share_of_a_one_pole(void** state)
{
  (void)state;
  const double share = one_pole_share(0.010, 48000.0);
  double       y     = 0.0;
  for (int i = 0; i < 480; ++i) {
    y += share * (1.0 - y);
  }
  assert_near(y, 1.0 - exp(-1.0), 1e-12);
}

/// The integral of 6 t (1 - t), which is a regularised incomplete beta
/// function, I_u(2, 2)
static void
test_smoothstep(void** state)
{
  (void)state;
  enum { N = 1000 };
  double sum = 0.0;
  for (int i = 0; i <= N; ++i) {
    const double u = (double)i / N;
    assert_near(smoothstepd(u), sum, 1e-6);
    assert_near((double)smoothstepf((float)u), sum, 1e-6);
    const double middle = u + 0.5 / N;
    sum += 6.0 * middle * (1.0 - middle) / N;
  }
  assert_true(smoothstepd(0.0) == 0.0 && smoothstepd(1.0) == 1.0);
  assert_true(smoothstepf(0.0F) == 0.0F && smoothstepf(1.0F) == 1.0F);
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_steady),
    cmocka_unit_test(test_decibels),
    cmocka_unit_test(test_clamps),
    cmocka_unit_test(test_share_of_a_one_pole),
    cmocka_unit_test(test_smoothstep),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
