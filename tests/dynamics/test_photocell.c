// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// The light-dependent resistor against the closed forms of its own equation,
/// and the static law against an independent solution.
///
/// The equation and its two-stage decay: Annalen der Physik 1952, doi
/// 10.1002/andp.19524450607.  The closed forms below follow by integration;
/// where numbers stand in a table they were computed from them in Python.

#include "tests/support/check.h"

#include "common/dynamics/photocell.h"

#define RATE_HZ 48000.0

/// n of a reduction
static double
n_of_db(double db)
{
  return db_to_gain(db) - 1.0;
}

static photocell
plain_cell(double rate_hz)
{
  // No memory, a = 2, b = 12
  photocell c = {0};
  photocell_init(&c, rate_hz,
                 (photocell_rates){.a_min   = 2.0,
                                   .a_max   = 2.0,
                                   .b       = 12.0,
                                   .m0      = 1.0,
                                   .fill_s  = 1.0,
                                   .empty_s = 1.0});
  photocell_set(&c, 1.0, false);
  photocell_reset(&c);
  return c;
}

/// Seconds until the reduction passes `stop_db` on the way to `target_db`
static double
run_until(photocell* c, double target_db, double stop_db, double rate_hz)
{
  const float  n_t   = (float)n_of_db(target_db);
  const double stop  = n_of_db(stop_db);
  const bool   rises = stop > photocell_n(c);
  float        gain  = 0.0F;
  for (uint32_t i = 0; i < 20.0 * rate_hz; ++i) {
    if (i % CONTROL_FRAMES == 0) {
      photocell_control(c);
    }
    const double before = photocell_n(c);
    photocell_run(c, &n_t, &gain, 1);
    if (rises ? photocell_n(c) >= stop : photocell_n(c) <= stop) {
      return (i + (stop - before) / (photocell_n(c) - before)) / rate_hz;
    }
  }
  fail_msg("never reached %g dB", stop_db);
  return 0.0;
}

static void
test_attack_closed_form(void** state)
{
  // t = ln[(n + n_t + c) n_t / ((n_t - n)(n_t + c))] / (a + 2 b n_t), c = a / b
  static const double rates[]   = {44100, 48000, 192000};
  static const double targets[] = {3.0, 6.0, 10.0};
  static const double shares[]  = {0.1, 0.5, 0.632, 0.9};
  (void)state;
  for (int r = 0; r < 3; ++r) {
    for (int t = 0; t < 3; ++t) {
      for (int s = 0; s < 4; ++s) {
        photocell    c    = plain_cell(rates[r]);
        const double n_t  = n_of_db(targets[t]);
        const double n    = n_of_db(shares[s] * targets[t]);
        const double pair = 2.0 / 12.0;
        const double want =
          log((n + n_t + pair) * n_t / ((n_t - n) * (n_t + pair))) /
          (2.0 + 2.0 * 12.0 * n_t);
        const double got =
          run_until(&c, targets[t], shares[s] * targets[t], rates[r]);
        assert_near(got, want, 0.005 * want);
      }
    }
  }
}

static void
test_release_closed_form(void** state)
{
  // t = ln[n0 (a + b n) / (n (a + b n0))] / a
  static const double starts[] = {3.0, 6.0, 10.0};
  static const double shares[] = {0.75, 0.5, 0.25, 0.1};
  (void)state;
  for (int t = 0; t < 3; ++t) {
    for (int s = 0; s < 4; ++s) {
      photocell    c  = plain_cell(RATE_HZ);
      const double n0 = n_of_db(starts[t]);
      const double n  = n_of_db(shares[s] * starts[t]);
      c.n             = n0;
      const double want =
        log(n0 * (2.0 + 12.0 * n) / (n * (2.0 + 12.0 * n0))) / 2.0;
      const double got = run_until(&c, -1e-9, shares[s] * starts[t], RATE_HZ);
      assert_near(got, want, 0.005 * want);
    }
  }
}

static void
test_release_figures(void** state)
{
  // The same for 3, 6 and 10 dB to a half and a tenth, in milliseconds
  static const double rows[][3] = {
    {3.0, 147.08, 704.3}, {6.0, 92.25, 524.1}, {10.0, 59.89, 393.5}};
  (void)state;
  for (int i = 0; i < 3; ++i) {
    for (int k = 0; k < 2; ++k) {
      photocell c     = plain_cell(RATE_HZ);
      c.n             = n_of_db(rows[i][0]);
      const double to = (k ? 0.1 : 0.5) * rows[i][0];
      const double ms = 1e3 * run_until(&c, -1e-9, to, RATE_HZ);
      assert_near(ms, rows[i][1 + k], 0.005 * rows[i][1 + k]);
    }
  }
}

static void
test_speed_scales_all_times(void** state)
{
  (void)state;
  for (double speed = 0.25; speed <= 4.0; speed *= 4.0) {
    photocell slow = {0};
    photocell one  = {0};
    photocell_init(&slow, RATE_HZ, photocell_default_rates);
    photocell_init(&one, RATE_HZ, photocell_default_rates);
    photocell_set(&slow, speed, true);
    photocell_set(&one, 1.0, true);
    photocell_reset(&slow);
    photocell_reset(&one);
    const double a = run_until(&slow, 6.0, 5.0, RATE_HZ);
    const double b = run_until(&one, 6.0, 5.0, RATE_HZ);
    assert_near(a * speed, b, 0.01 * b);
    const double c = run_until(&slow, -1e-9, 0.6, RATE_HZ);
    const double d = run_until(&one, -1e-9, 0.6, RATE_HZ);
    assert_near(c * speed, d, 0.01 * d);
  }
}

/// Times, in ms, to a half and a tenth of the reduction reached, after light
/// for `exposure_s`
static void
expose(double exposure_s, double target_db, double* t50_ms, double* t90_ms)
{
  photocell   c   = {0};
  const float n_t = (float)n_of_db(target_db);
  float       gain;
  photocell_init(&c, RATE_HZ, photocell_default_rates);
  for (uint32_t i = 0; i < exposure_s * RATE_HZ; ++i) {
    if (i % CONTROL_FRAMES == 0) {
      photocell_control(&c);
    }
    photocell_run(&c, &n_t, &gain, 1);
  }
  const double reached = gain_to_db(1.0 + photocell_n(&c));
  *t50_ms              = 1e3 * run_until(&c, -1e-9, 0.5 * reached, RATE_HZ);
  *t90_ms = *t50_ms + 1e3 * run_until(&c, -1e-9, 0.1 * reached, RATE_HZ);
}

static void
test_memory_slows_the_tail(void** state)
{
  // Computed for the default rates with a fine Runge-Kutta solution
  double short_50, short_90, long_50, long_90;
  (void)state;
  expose(0.2, 3.0, &short_50, &short_90);
  expose(10.0, 3.0, &long_50, &long_90);
  assert_near(short_90, 336.0, 0.05 * 336.0);
  assert_near(long_90, 1107.0, 0.05 * 1107.0);
  // A single exponential in decibels has t90 / t50 = ln 10 / ln 2 = 3.32
  assert_true(short_90 / short_50 >= 3.5);
  assert_true(long_90 / long_50 >= 5.0);
}

static void
test_static_law(void** state)
{
  // N + p ln(1 + e^N) = ln s + p ln(x / T), solved in Python with
  // scipy.optimize.brentq; p = 1.2, 1.38, 2, 3
  static const double p[]         = {1.2, 1.38, 2.0, 3.0};
  static const double level_db[]  = {-12, -6, -3, 0, 1, 3, 6, 9, 12, 18, 24};
  static const double want[4][11] = {
    {.194, .426, .620, .890, 1, 1.254, 1.728, 2.325, 3.048, 4.859, 7.090},
    {.152, .377, .580, .876, 1, 1.290, 1.842, 2.544, 3.397, 5.515, 8.072},
    {.066, .248, .465, .833, 1, 1.408, 2.221, 3.268, 4.521, 7.496, 10.883},
    {.017, .127, .329, .775, 1, 1.579, 2.759, 4.246, 5.954, 9.783, 13.920}};
  (void)state;
  for (int i = 0; i < 4; ++i) {
    for (int j = 0; j < 11; ++j) {
      assert_near(photocell_law_db(level_db[j], p[i]), want[i][j], 0.001);
    }
  }
}

static void
test_law_satisfies_its_equation(void** state)
{
  (void)state;
  for (double p = 1.2; p <= 3.0; p += 0.3) {
    double last = 0.0;
    for (double level_db = -120.0; level_db <= 150.0; level_db += 0.7) {
      const double db = photocell_law_db(level_db, p);
      const double y  = db_to_gain(level_db - db); // Output re threshold
      const double n  = (db_to_gain(1.0) - 1.0) * pow(y, p);
      assert_near(db, gain_to_db(1.0 + n), 0.002);
      assert_true(db >= last - 1e-4);
      last = db;
    }
  }
}

static void
test_step_is_stable_at_any_rate(void** state)
{
  uint32_t seed = 4;
  (void)state;
  for (double rate_hz = 8000; rate_hz <= 384000; rate_hz *= 2) {
    photocell c = plain_cell(rate_hz);
    photocell_set(&c, 4.0, true);
    for (int i = 0; i < 20000; ++i) {
      const float n_t  = fabsf(check_noise(&seed)) > 0.5F ? 1e5F : 0.0F;
      float       gain = 0.0F;
      photocell_run(&c, &n_t, &gain, 1);
      assert_true(gain > 0.0F && gain <= 1.0F);
      const double now = photocell_n(&c);
      assert_true(now >= 0.0 && now <= 1e5 * (1.0 + 1e-9)); // Rounding
    }
  }
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_attack_closed_form),
    cmocka_unit_test(test_release_closed_form),
    cmocka_unit_test(test_release_figures),
    cmocka_unit_test(test_speed_scales_all_times),
    cmocka_unit_test(test_memory_slows_the_tail),
    cmocka_unit_test(test_static_law),
    cmocka_unit_test(test_law_satisfies_its_equation),
    cmocka_unit_test(test_step_is_stable_at_any_rate),
  };
  return cmocka_run_group_tests_name("photocell", tests, NULL, NULL);
}
