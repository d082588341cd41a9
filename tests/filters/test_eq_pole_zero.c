// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Pairs of poles and zeros, and the fourth-order shelf, against their analog
/// prototypes as closed forms: H(s) of the section, and |H|^2 = (1 + G x^8) /
/// (1 + x^8 / G) of the shelf, whose asymptotes cross as those of any
/// Butterworth filter (any filter handbook)

#include "tests/support/check.h"

#include "common/filters/eq_pole_zero.h"
#include "common/speaker/cone_curve.h"

#include <complex.h>
#include <stdlib.h>

/// In double: that of complex.h is float
#define J ((double complex)I)

#define CONES  4
#define N_STEP 400

static double
analog_pair_db(eq_pole_zero p, double f_hz)
{
  const double complex z = J * (f_hz / p.fz_hz);
  const double complex s = J * (f_hz / p.fp_hz);
  return gain_to_db(cabs((z * z + z / p.qz + 1.0) / (s * s + s / p.qp + 1.0)));
}

static double
analog_shelf_db(double f_hz, double f0_hz, double gain_db)
{
  const double g  = pow(10.0, gain_db / 20.0);
  const double x8 = pow(f_hz / f0_hz, 8.0);
  return 10.0 * log10((1.0 + g * x8) / (1.0 + x8 / g));
}

/// Returns pair `i` of a cone: its modes, then its cap
static eq_pole_zero
pair_of(int cone, int i)
{
  const cone_curve* const c = cone_curve_of((cone_size)cone);
  return i < CONE_CURVE_MODES ? c->mode[i] : c->cap;
}

/// Returns the largest error from 20 Hz to `top_hz`
static double
pair_error_db(eq_pole_zero p, double top_hz, double rate_hz)
{
  const biquad q     = eq_of_pole_zero(p, rate_hz);
  double       worst = 0.0;
  for (int i = 0; i <= N_STEP; ++i) {
    const double f = 20.0 * pow(top_hz / 20.0, (double)i / N_STEP);
    worst =
      fmax(worst, fabs(eq_response_db(q, f, rate_hz) - analog_pair_db(p, f)));
  }
  return worst;
}

/// Checks that poles and zeros lie inside the circle, the zeros so that the
/// reciprocal runs, and that no gain is beyond `most_db` of 0
static void
check_tame(biquad q, double most_db)
{
  assert_true(fabs(q.a2) < 1.0 && fabs(q.a1) < 1.0 + q.a2);
  assert_true(fabs(q.b2) < q.b0 && fabs(q.b1) < q.b0 + q.b2);
  for (int i = 0; i <= N_STEP; ++i) {
    const double db = eq_response_db(q, 0.5 * i / N_STEP, 1.0);
    assert_near(db, 0.0, most_db);
  }
}

static void
test_pairs(void** state)
{
  (void)state;
  static const double rates_hz[] = {44100, 48000, 88200, 96000, 192000, 384000};
  for (size_t r = 0; r < sizeof(rates_hz) / sizeof(rates_hz[0]); ++r) {
    double worst = 0.0;
    for (int k = 0; k < CONES * (CONE_CURVE_MODES + 1); ++k) {
      const eq_pole_zero p = pair_of(k / 4, k % 4);
      const biquad       q = eq_of_pole_zero(p, rates_hz[r]);
      const double       e = pair_error_db(p, 12500.0, rates_hz[r]);
      assert_near(e, 0.0, r < 2 ? 0.17 : 0.02);
      assert_near(eq_response_db(q, 0.0, rates_hz[r]), 0.0, 1e-9);
      check_tame(q, 30.0);
      worst = fmax(worst, e);
    }
    print_message("# %6.0f Hz: %.3f dB\n", rates_hz[r], worst);
  }
}

/// At low rates, where poles or zeros lie above Nyquist: the curve below 0.45
/// of the rate remains, less exactly
static void
test_pairs_above_nyquist(void** state)
{
  (void)state;
  static const double rates_hz[] = {8000, 11025, 16000, 22050, 24000, 32000};
  for (size_t r = 0; r < sizeof(rates_hz) / sizeof(rates_hz[0]); ++r) {
    double half = 0.0, all = 0.0;
    for (int k = 0; k < CONES * (CONE_CURVE_MODES + 1); ++k) {
      const eq_pole_zero p = pair_of(k / 4, k % 4);
      half = fmax(half, pair_error_db(p, 0.25 * rates_hz[r], rates_hz[r]));
      all  = fmax(all, pair_error_db(p, 0.45 * rates_hz[r], rates_hz[r]));
      check_tame(eq_of_pole_zero(p, rates_hz[r]), 40.0);
    }
    print_message("# %6.0f Hz: %.2f dB to 0.25, %.2f dB to 0.45 of it\n",
                  rates_hz[r], half, all);
    assert_near(half, 0.0, 0.35);
    assert_near(all, 0.0, 4.5);
  }
}

static void
test_shelf(void** state)
{
  (void)state;
  static const double rates_hz[] = {44100, 48000, 96000, 192000, 384000};
  static const double f0_hz[]    = {6000, 9000, 11000, 13000, 16000};
  for (size_t r = 0; r < sizeof(rates_hz) / sizeof(rates_hz[0]); ++r) {
    double worst = 0.0;
    for (int k = 0; k < 5 * 19; ++k) {
      const double f0      = f0_hz[k / 19];
      const double gain_db = k % 19 - 6.0;
      const biquad one     = eq_high_shelf_4(f0, gain_db, 0, rates_hz[r]);
      const biquad two     = eq_high_shelf_4(f0, gain_db, 1, rates_hz[r]);
      for (int i = 0; i <= N_STEP; ++i) {
        const double f = 20.0 * pow(1000.0, (double)i / N_STEP);
        const double e = eq_response_db(one, f, rates_hz[r]) +
                         eq_response_db(two, f, rates_hz[r]) -
                         analog_shelf_db(f, f0, gain_db);
        worst = fmax(worst, fabs(e));
      }
    }
    print_message("# %6.0f Hz: %.3f dB to 20 kHz\n", rates_hz[r], worst);
    assert_near(worst, 0.0, r < 2 ? 0.13 : 0.01);
  }
}

/// Whatever the rate: a shelf of up to 12 dB at the pair's half of it, and 3 dB
/// for what a resonant pair adds; flat is exactly flat, and DC stays
static void
test_shelf_at_any_rate(void** state)
{
  (void)state;
  static const double rates_hz[] = {8000,  11025, 16000, 22050, 24000,
                                    32000, 44100, 48000, 96000, 384000};
  for (size_t r = 0; r < sizeof(rates_hz) / sizeof(rates_hz[0]); ++r) {
    for (int k = 0; k < 11 * 25 * EQ_SHELF_4_SECTIONS; ++k) {
      const uint32_t i       = (uint32_t)k % EQ_SHELF_4_SECTIONS;
      const int      f0_khz  = 6 + k / 50;
      const int      gain_db = k / 2 % 25 - 12;
      const biquad   q = eq_high_shelf_4(1e3 * f0_khz, gain_db, i, rates_hz[r]);
      check_tame(q, 0.5 * abs(gain_db) + 3.0);
      assert_near(eq_response_db(q, 0.0, rates_hz[r]), 0.0, 1e-9);
      if (gain_db == 0) {
        assert_true(q.b0 == 1.0 && q.b1 == q.a1 && q.b2 == q.a2);
      }
    }
  }
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_pairs),
    cmocka_unit_test(test_pairs_above_nyquist),
    cmocka_unit_test(test_shelf),
    cmocka_unit_test(test_shelf_at_any_rate),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
