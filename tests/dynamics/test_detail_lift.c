// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// The detail lift: corner and time constants that detail_lift.h states, each
/// by the slope of what it smooths

#include "tests/support/check.h"

#include "common/dynamics/detail_lift.h"

#include <string.h>

static detail_lift lift;

static void
start(double rate_hz)
{
  memset(&lift, 0, sizeof(lift));
  detail_lift_init(&lift, rate_hz, 1);
  detail_lift_set(&lift, 12.0, -36.0, -70.0);
  detail_lift_reset(&lift);
}

/// `seconds` of a sine, in whole grid lines
static double
play(double f_hz, double peak, double seconds, double rate_hz)
{
  const uint32_t n_lines = (uint32_t)(seconds * rate_hz / CONTROL_FRAMES);
  for (uint32_t line = 0; line < n_lines; ++line) {
    float              x[CONTROL_FRAMES], gain[CONTROL_FRAMES];
    const float* const in[] = {x};
    for (uint32_t i = 0; i < CONTROL_FRAMES; ++i) {
      const double t = (line * CONTROL_FRAMES + i) / rate_hz;
      x[i]           = (float)(peak * sin(2.0 * DSP_PI * f_hz * t));
    }
    detail_lift_control(&lift);
    detail_lift_gains(&lift, in, gain, CONTROL_FRAMES);
  }
  return n_lines * CONTROL_FRAMES / rate_hz;
}

static const double rates_hz[] = {44100.0, 48000.0, 96000.0, 192000.0};

static void
test_falls_of_the_levels(void** state)
{
  (void)state;
  for (int r = 0; r < 4; ++r) {
    start(rates_hz[r]);
    play(3000.0, 0.5, 1.0, rates_hz[r]);
    // The 120 Hz high-pass rings for some ms
    play(0.0, 0.0, 0.03, rates_hz[r]);
    const detail_detector before = lift.detector;
    const double          t      = play(0.0, 0.0, 0.05, rates_hz[r]);
    const detail_detector after  = lift.detector;
    assert_near(t / log(before.power / after.power), 0.010, 0.0001);
    assert_near(t / log(before.held / after.held), 0.060, 0.0006);
    assert_near(t / log(before.steady / after.steady), 0.060, 0.0006);
  }
}

static void
test_ballistics(void** state)
{
  (void)state;
  // On a steady tone, with the share moved away from where it belongs
  for (int r = 0; r < 4; ++r) {
    start(rates_hz[r]);
    play(6000.0, 0.02, 1.0, rates_hz[r]);
    const double want = (double)lift.share;
    lift.share        = 0.0F;
    const double up   = play(6000.0, 0.02, 0.02, rates_hz[r]);
    assert_near(-up / log(1.0 - (double)lift.share / want), 0.020, 0.0004);
    lift.share        = 1.0F;
    const double down = play(6000.0, 0.02, 0.002, rates_hz[r]);
    assert_near(-down / log(((double)lift.share - want) / (1.0 - want)), 0.0016,
                0.00006);
  }
}

static void
test_listens_above_120_hz(void** state)
{
  (void)state;
  // Second-order Butterworth: half the power at the corner, (f/fc)^4 of it far
  // below
  static const struct {
    double f_hz, share;
  } rows[] = {{120.0, 0.5}, {60.0, 1.0 / 17.0}, {6000.0, 1.0}};
  for (int i = 0; i < 3; ++i) {
    start(48000.0);
    play(rows[i].f_hz, 0.5, 2.0, 48000.0);
    double    mean = 0.0; // The ripple of the mean square goes around it
    const int n    = 600; // Lines: whole periods of twice the tone
    for (int k = 0; k < n; ++k) {
      float              x[CONTROL_FRAMES], gain[CONTROL_FRAMES];
      const float* const in[] = {x};
      for (uint32_t j = 0; j < CONTROL_FRAMES; ++j) {
        const double t = (k * CONTROL_FRAMES + j) / 48000.0;
        x[j]           = (float)(0.5 * sin(2.0 * DSP_PI * rows[i].f_hz * t));
      }
      detail_lift_gains(&lift, in, gain, CONTROL_FRAMES);
      mean += lift.detector.power / n;
    }
    print_message("# %.0f Hz: %.4f\n", rows[i].f_hz, mean / 0.125);
    assert_near(mean / 0.125 / rows[i].share, 1.0, 0.01);
  }
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_falls_of_the_levels),
    cmocka_unit_test(test_ballistics),
    cmocka_unit_test(test_listens_above_120_hz),
  };
  return cmocka_run_group_tests_name("detail_lift", tests, NULL, NULL);
}
