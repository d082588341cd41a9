// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// The expander for pauses: its curve, what it hears, and its times

#include "tests/support/check.h"

#include "common/dynamics/pause_expander.h"

#include <string.h>

#define PAUSE_DB 20.0
#define BELOW_DB (-60.0)
#define PLAY_DB  4.0

static pause_expander expander;
static double         now_s;

static const double rates_hz[] = {8000.0, 44100.0, 48000.0, 96000.0, 384000.0};

enum { N_RATES = sizeof(rates_hz) / sizeof(rates_hz[0]) };

static void
start(double rate_hz)
{
  memset(&expander, 0, sizeof(expander));
  pause_expander_init(&expander, rate_hz, 1);
  pause_expander_set(&expander, PAUSE_DB, BELOW_DB);
  pause_expander_reset(&expander);
  now_s = 0.0;
}

/// Plays a grid line of a sine, or of nothing
static void
play_line(double f_hz, double rms_dbfs, double rate_hz)
{
  const double peak = f_hz > 0.0 ? sqrt(2.0) * db_to_gain(rms_dbfs) : 0.0;
  f64x2        x[CONTROL_FRAMES];
  for (uint32_t i = 0; i < CONTROL_FRAMES; ++i) {
    const double t = now_s + i / rate_hz;
    x[i]           = (f64x2){peak * sin(2.0 * DSP_PI * f_hz * t), 0.0};
  }
  pause_expander_control(&expander);
  pause_expander_run(&expander, x, CONTROL_FRAMES);
  now_s += CONTROL_FRAMES / rate_hz;
}

static void
play(double f_hz, double rms_dbfs, double seconds, double rate_hz)
{
  const double until = now_s + seconds;
  while (now_s < until) {
    play_line(f_hz, rms_dbfs, rate_hz);
  }
}

static double
gain_db(void)
{
  return gain_to_db(expander.y);
}

/// A compressor's curve with s = 1 - 1/R (Giannoulis, Massberg, Reiss, JAES
/// 60(6), 2012), upside down: s = R - 1 = 2, knee 6 dB, ended at the range
static void
test_curve(void** state)
{
  (void)state;
  static const struct {
    double under_db, reduction_db;
  } rows[] = {{-40, 0}, {0, 0},   {1, 1.0 / 6.0}, {3, 1.5},   {6, 6},
              {8, 10},  {12, 18}, {12.9, 19.8},   {13.1, 20}, {80, 20}};
  for (size_t i = 0; i < sizeof(rows) / sizeof(rows[0]); ++i) {
    const float got =
      pause_expander_reduction_db((float)rows[i].under_db, (float)PAUSE_DB);
    assert_near((double)got, rows[i].reduction_db, 1e-5);
  }
  for (int i = -40; i < 800; ++i) { // No step, and never above 1:3
    const float u    = 0.1F * (float)i;
    const float step = pause_expander_reduction_db(u + 0.1F, 30.0F) -
                       pause_expander_reduction_db(u, 30.0F);
    assert_true(step >= 0.0F && step < 0.2001F);
    assert_true(pause_expander_reduction_db(u, 0.0F) == 0.0F);
  }
}

/// Mean of the slow power over half a second
static double
heard_db(double f_hz, double rate_hz)
{
  start(rate_hz);
  play(f_hz, -40.0, 0.5, rate_hz);
  double   sum = 0.0;
  uint32_t n   = 0;
  for (const double until = now_s + 0.5; now_s < until; ++n) {
    play_line(f_hz, -40.0, rate_hz);
    sum += expander.slow_power;
  }
  return 10.0 * log10(sum / n) + 40.0;
}

/// Butterworth of second order at both ends: -3.01 dB at each corner,
/// 1 / (1 + (fc/f)^4) at mains, and a guitar's fundamentals in between
static void
test_band(void** state)
{
  (void)state;
  static const struct {
    double f_hz, db, tolerance_db;
  } rows[] = {{50, -6.84, 0.1},   {70, -3.01, 0.05},  {82.4, -1.82, 0.05},
              {110, -0.66, 0.05}, {330, -0.01, 0.05}, {1318.5, -0.75, 0.1},
              {2000, -3.01, 0.1}};
  for (int r = 0; r < N_RATES; ++r) {
    for (size_t i = 0; i < sizeof(rows) / sizeof(rows[0]); ++i) {
      assert_near(heard_db(rows[i].f_hz, rates_hz[r]), rows[i].db,
                  rows[i].tolerance_db);
    }
  }
}

/// White noise: the power of a band of (pi / (2 sqrt 2)) 2 kHz, less what is
/// below 70 Hz, of 24 kHz: -10.4 dB
static void
test_hiss_reads_low(void** state)
{
  (void)state;
  uint32_t seed = 5;
  double   sum  = 0.0;
  start(48000.0);
  enum { N_LINES = 15000 };
  for (int line = 0; line < N_LINES; ++line) {
    f64x2 x[CONTROL_FRAMES];
    for (uint32_t i = 0; i < CONTROL_FRAMES; ++i) {
      x[i] = (f64x2){0.001 * (double)check_noise(&seed), 0.0};
    }
    pause_expander_control(&expander);
    pause_expander_run(&expander, x, CONTROL_FRAMES);
    sum += expander.slow_power / N_LINES;
  }
  const double white_db = gain_to_db(0.001) - 10.0 * log10(3.0);
  assert_near(10.0 * log10(sum) - white_db, -10.4, 0.2);
}

/// Opens at the threshold, closes as much lower as the play is wide
static void
test_play(void** state)
{
  (void)state;
  for (int r = 0; r < N_RATES; ++r) {
    start(rates_hz[r]);
    for (double db = -80.0; db < -50.0; db += 0.5) { // Up
      play(440.0, db, 0.4, rates_hz[r]);
      const float want =
        pause_expander_reduction_db((float)(BELOW_DB - db), (float)PAUSE_DB);
      assert_near(gain_db(), -(double)want, 0.35);
    }
    for (double db = -50.0; db > -90.0; db -= 0.5) { // And down
      play(440.0, db, 0.7, rates_hz[r]);
      const float want = pause_expander_reduction_db(
        (float)(BELOW_DB - PLAY_DB - db), (float)PAUSE_DB);
      assert_near(gain_db(), -(double)want, 0.35);
    }
  }
}

/// A tone that stops 40 dB above: the detector falls first (15 ms: 290 dB a
/// second), then the hold, two spans of 75 ms, then 100 dB a second
static void
test_hold_and_fall(void** state)
{
  (void)state;
  const double detector_s = (40.0 + PLAY_DB) * log(10.0) / 10.0 * 0.015;
  for (int r = 0; r < N_RATES; ++r) {
    start(rates_hz[r]);
    play(440.0, BELOW_DB + 40.0, 0.3, rates_hz[r]);
    assert_near(gain_db(), 0.0, 1e-6);
    play(0.0, 0.0, detector_s + 0.150 - 0.006, rates_hz[r]);
    assert_near(gain_db(), 0.0, 0.01);
    play(0.0, 0.0, 0.050, rates_hz[r]);
    assert_below(gain_db(), -1.0);
    const double begin = gain_db();
    const double at    = now_s;
    play(0.0, 0.0, 0.060, rates_hz[r]);
    assert_near((begin - gain_db()) / (now_s - at), 100.0, 0.5);
    play(0.0, 0.0, 0.300, rates_hz[r]);
    assert_near(gain_db(), -PAUSE_DB, 0.001);
  }
}

/// From closed, by a tone at the alignment level: 90 % of the gain is
/// there after 0.7 ms, all but 60 dB of it after 2 ms
static void
test_opens(void** state)
{
  (void)state;
  const double rate_hz = 384000.0; // For grid lines of 0.08 ms
  start(rate_hz);
  play(0.0, 0.0, 0.1, rate_hz);
  assert_near(gain_db(), -PAUSE_DB, 0.001);
  now_s = 0.0;
  play(220.0, ALIGN_RMS_DBFS, 0.0007, rate_hz);
  print_message("# 0.7 ms: %.3f\n", expander.y);
  assert_true(expander.y > 0.9);
  play(220.0, ALIGN_RMS_DBFS, 0.0013, rate_hz);
  print_message("# 2 ms: %.5f\n", expander.y);
  assert_true(expander.y > 0.999);
}

/// At pause_db = 0 there is nothing to run; on and off again by control
static void
test_off(void** state)
{
  (void)state;
  start(48000.0);
  assert_true(expander.is_on);
  pause_expander_set(&expander, 0.0, BELOW_DB);
  play(0.0, 0.0, 0.2, 48000.0);
  assert_false(expander.is_on);
  pause_expander_set(&expander, 10.0, BELOW_DB);
  pause_expander_control(&expander);
  assert_true(expander.is_on);
  assert_true(expander.y == 1.0);
  play(0.0, 0.0, 0.5, 48000.0);
  assert_near(gain_db(), -10.0, 0.001);
  pause_expander_set(&expander, 0.0, BELOW_DB);
  pause_expander_reset(&expander);
  assert_false(expander.is_on);
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_curve),
    cmocka_unit_test(test_band),
    cmocka_unit_test(test_hiss_reads_low),
    cmocka_unit_test(test_play),
    cmocka_unit_test(test_hold_and_fall),
    cmocka_unit_test(test_opens),
    cmocka_unit_test(test_off),
  };
  return cmocka_run_group_tests_name("pause_expander", tests, NULL, NULL);
}
