// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Speed of gentle: the time constants that air_shelf.h states, 150 ms down and
/// 3 ms up, as slopes of the level that it follows

#include "tests/support/rig.h"

#include "common/stages/air_shelf.h"

#define QUIET_DBFS (-60.0)
#define LOUD_DBFS  (-20.0)

/// Plays a tone of 9 kHz for `n` grid lines; returns the level then, over the
/// quiet one
static double
level_after(rig* r, double rms_dbfs, double rate_hz, uint32_t n_lines)
{
  static float  x[CONTROL_FRAMES];
  static double phase;
  const double  peak = sqrt(2.0) * db_to_gain(rms_dbfs);
  const double  step = 2.0 * DSP_PI * 9000.0 / rate_hz;
  for (uint32_t line = 0; line < n_lines; ++line) {
    for (uint32_t i = 0; i < CONTROL_FRAMES; ++i) {
      x[i]  = (float)(peak * sin(phase));
      phase = fmod(phase + step, 2.0 * DSP_PI);
    }
    rig_run(r, x, x, CONTROL_FRAMES);
  }
  return ((const air_shelf*)r->st.state)->treble_dbfs - QUIET_DBFS;
}

static void
test_fall(void** state)
{
  (void)state;
  static const double rates_hz[] = {44100, 48000, 96000, 192000};
  const float         v[]        = {3000, 3, 11000, 6, 100};
  for (int k = 0; k < 4; ++k) {
    const double   line_hz = rates_hz[k] / CONTROL_FRAMES;
    const uint32_t n       = (uint32_t)(0.15 * line_hz);
    rig            r       = rig_open(&air_shelf_ops, rates_hz[k], 1, v);
    const double   quiet =
      level_after(&r, QUIET_DBFS, rates_hz[k], (uint32_t)(2.0 * line_hz));
    level_after(&r, LOUD_DBFS, rates_hz[k], (uint32_t)line_hz);
    // After 100 ms the mean square has arrived
    const double first =
      level_after(&r, QUIET_DBFS, rates_hz[k], (uint32_t)(0.1 * line_hz));
    const double second = level_after(&r, QUIET_DBFS, rates_hz[k], n);
    rig_close(&r);
    const double tau_s = n / line_hz / log((first - quiet) / (second - quiet));
    print_message("# %.0f Hz: %.2f ms\n", rates_hz[k], 1e3 * tau_s);
    assert_near(tau_s, 0.150, 0.0015);
  }
}

static void
test_rise(void** state)
{
  (void)state;
  // 3 ms of the mean square, then 3 ms in dB, by small steps of time
  const float v[] = {3000, 3, 11000, 6, 100};
  rig         r   = rig_open(&air_shelf_ops, 192000, 1, v);
  level_after(&r, QUIET_DBFS, 192000, 12000);
  for (int lines = 12; lines <= 60; lines += 12) {
    // In steps of 2 ms
    const double got   = level_after(&r, LOUD_DBFS, 192000, 12) + QUIET_DBFS;
    double       power = 1e-6, level = QUIET_DBFS;
    const int    n = (int)(lines * CONTROL_FRAMES / 192000.0 * 1e6);
    for (int i = 0; i < n; ++i) {
      power += 1e-6 / 0.003 * (1e-2 - power);
      level += 1e-6 / 0.003 * (10.0 * log10(power) - level);
    }
    print_message("# %d lines: %.2f dB, %.2f\n", lines, got, level);
    assert_near(got, level, 1.0);
  }
  rig_close(&r);
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_fall),
    cmocka_unit_test(test_rise),
  };
  return cmocka_run_group_tests_name("air_shelf_times", tests, NULL, NULL);
}
