// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

// Sizes of cone, what a rigid one radiates, and how an elastic one swings

#include "tests/support/check.h"

#include "common/speaker/cone_modes.h"

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

#define MODES_SECONDS 2

static float tone[96000 * MODES_SECONDS];
static float ones[96000 * MODES_SECONDS];

/// Amplitude at half the frequency of a tone, made by the modes, in the last
/// second of two; *other: the same 50 Hz away
static double
half_frequency(double f_hz, double peak, double rate_hz, double* other)
{
  const uint32_t second = (uint32_t)rate_hz;
  const uint32_t n      = MODES_SECONDS * second;
  check_sine(tone, n, f_hz, peak, rate_hz);
  for (uint32_t i = 0; i < n; ++i) {
    ones[i] = 1.0F;
  }
  static cone_modes m;
  cone_modes_init(&m, CONE_12_INCH, rate_hz);
  for (uint32_t i = 0; i < n; i += CONTROL_FRAMES) {
    float* const at = tone + i;
    cone_modes_process(&m, ones, ones, &at, 1, CONTROL_FRAMES);
  }
  float* const last = tone + (n - second);
  *other            = check_tone(last, second, 0.5 * f_hz + 50.0, rate_hz);
  return check_tone(last, second, 0.5 * f_hz, rate_hz);
}

// Mathieu's equation: unstable for h > 4 zeta (Landau and Lifshitz, section
// 27).  h is half the force: 0.24 at zeta 0.03.  Growth within the time takes a
// few percent more; the answer is exactly at half the frequency.
static void
test_subharmonic(void** state)
{
  (void)state;
  static const double rates[] = {48000.0, 96000.0};
  const double        onset   = 2.0 * 4.0 * CONE_MODES_ZETA;
  double              loudest = 0.0;
  for (size_t r = 0; r < 2; ++r) {
    for (int k = 0; k < 2; ++k) {
      const double f = k ? 1500.0 : 1000.0;
      double       other;
      assert_true(half_frequency(f, 0.99 * onset, rates[r], &other) < 1e-6);

      assert_true(half_frequency(f, 1.12 * onset, rates[r], &other) > 0.005);
      const double far = half_frequency(f, 2.0 * onset, rates[r], &other);
      assert_true(other < 1e-3 * far);
      // Outside its band nothing swings
      assert_true(half_frequency(f - 130.0, 0.5, rates[r], &other) < 1e-4);

      for (int i = 0; i < 6; ++i) {
        const double peak = onset * exp2(i);
        loudest =
          fmax(loudest, half_frequency(f, peak, rates[r], &other) / peak);
      }
    }
  }
  print_message("# at most %.1f dB re the tone\n", gain_to_db(loudest));
  assert_near(gain_to_db(loudest), -24.5, 0.6);
}

static void
test_modes_stay_finite(void** state)
{
  (void)state;
  static const double rates[] = {8000.0, 22050.0, 48000.0, 384000.0};
  for (size_t r = 0; r < sizeof(rates) / sizeof(rates[0]); ++r) {
    cone_modes m;
    cone_modes_init(&m, CONE_8_INCH, rates[r]);
    uint32_t seed = 3;
    for (int i = 0; i < 100000; ++i) {
      const float  one  = 1.0F;
      const float  loud = i < 50000 ? 16000.0F : 0.0F;
      float        x    = check_noise(&seed) < 0.0F ? -loud : loud;
      float* const at   = &x;
      cone_modes_process(&m, &one, &one, &at, 1, 1);
      assert_true(isfinite(x));
      assert_true(fabsf(x) < loud + 2.0F);
    }
  }
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_piston),
    cmocka_unit_test(test_small_parameters),
    cmocka_unit_test(test_subharmonic),
    cmocka_unit_test(test_modes_stay_finite),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
