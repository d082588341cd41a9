// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

// Sizes of cone, and what a rigid one radiates

#include "check.h"

#include "common/cone.h"

// J. Eargle, "Electroacoustical Reference Data" (1994), section 35; zeros and
// values of 2 J1(x) / x also by scipy.special.j1
static void
test_piston(void** state)
{
  (void)state;
  assert_near(cone_piston_db(0.0), 0.0, 1e-9);
  assert_near(cone_piston_db(1.614), -3.00, 0.02);
  assert_near(cone_piston_db(2.212), -6.00, 0.02);
  assert_near(cone_piston_db(2.731), -10.00, 0.02);
  assert_true(cone_piston_db(3.831706) < -80.0);
  assert_true(cone_piston_db(3.8307) > -80.0);
  assert_true(cone_piston_db(3.8327) > -80.0);
  assert_near(cone_piston_db(5.136), -17.57, 0.02);
}

// Small 1972: fs, Qms, Qes from the parameters
static void
test_small_parameters(void** state)
{
  (void)state;
  static const double fs_hz[] = {120.0, 96.0, 80.0, 64.0};
  for (int size = CONE_8_INCH; size <= CONE_15_INCH; ++size) {
    const motor_driver d  = cone_driver((cone_size)size, true);
    const double       ws = sqrt(d.kms / d.mms_kg);
    assert_near(ws / (2.0 * DSP_PI), fs_hz[size], 0.01);
    assert_near(ws * d.mms_kg / d.rms, 8.0, 1e-9);
    const double u0   = d.x0_m / d.xb_m;
    const double rest = d.bl / (1.0 + u0 * u0);
    assert_near(ws * d.mms_kg * d.re_ohm / (rest * rest), 0.635, 0.001);

    // fc = fs sqrt(1 + alpha)
    const motor_driver b = cone_driver((cone_size)size, false);
    assert_near(sqrt(b.kms / d.kms), sqrt(1.35), 1e-9);
  }
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_piston),
    cmocka_unit_test(test_small_parameters),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
