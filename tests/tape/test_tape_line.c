// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// The tape as a delay: exact, and moved without a click

#include "tests/support/check.h"
#include "tests/support/click.h"

#include "common/tape/tape_line.h"

#include <string.h>

enum { N = 96000, LONG = 192000 };

static tape_line line;
static float     in[LONG], out[LONG];

static void
start(double rate_hz, double delay, double flutter_pc)
{
  memset(&line, 0, sizeof(line));
  tape_line_init(&line, rate_hz, 1);
  tape_line_set(&line, delay, flutter_pc);
  tape_line_reset(&line);
}

/// Runs grid lines in pieces; `from` is a multiple of CONTROL_FRAMES
static void
run(uint32_t from, uint32_t to)
{
  static const uint32_t cuts[] = {0, 1, 6, 7, 20, 32};
  for (uint32_t at = from; at < to; at += CONTROL_FRAMES) {
    tape_line_control(&line);
    for (uint32_t i = 0; i + 1 < 6; ++i) {
      const uint32_t n = cuts[i + 1] - cuts[i];
      const float*   x = in + at + cuts[i];
      float*         y = out + at + cuts[i];
      tape_line_read(&line, &y, n);
      tape_line_write(&line, &x, n);
    }
  }
}

/// Delay of a tone, in frames, within half a period of `near`
static double
delay_of(double f_hz, double near, double rate_hz)
{
  const uint32_t from = LONG - 38400;
  double         re   = 0.0;
  double         im   = 0.0;
  for (uint32_t i = from; i < LONG; ++i) {
    const double w = 2.0 * DSP_PI * f_hz * i / rate_hz;
    re += (double)out[i] * sin(w);
    im += (double)out[i] * cos(w);
  }
  const double period = rate_hz / f_hz;
  const double part   = -atan2(im, re) / (2.0 * DSP_PI) * period;
  return part + period * round((near - part) / period);
}

static void
test_delay_is_exact(void** state)
{
  (void)state;
  // By the phase of a tone of 1 kHz; and nothing lost at 15 kHz against 1 kHz
  static const double rates_hz[]  = {44100, 48000, 96000, 192000, 384000};
  static const double delays_ms[] = {5.0, 12.34, 33.33, 100.1, 249.9};
  for (uint32_t r = 0; r < 5; ++r) {
    for (uint32_t i = 0; i < 5; ++i) {
      const double want = 1e-3 * delays_ms[i] * rates_hz[r];
      start(rates_hz[r], want, 0.0);
      check_sine(in, LONG, 1000.0, 0.5, rates_hz[r]);
      run(0, LONG);
      assert_near(delay_of(1000.0, want, rates_hz[r]), want, 0.01);
      const uint32_t last = 38400;
      const double   low =
        check_tone(out + LONG - last, last, 1000.0, rates_hz[r]);
      start(rates_hz[r], want, 0.0);
      check_sine(in, LONG, 15000.0, 0.5, rates_hz[r]);
      run(0, LONG);
      const double high =
        check_tone(out + LONG - last, last, 15000.0, rates_hz[r]);
      assert_near(gain_to_db(high / low), 0.0, 0.02);
    }
  }
}

static void
test_holds_250_ms_at_any_rate(void** state)
{
  (void)state;
  for (int i = 0; i <= 200; ++i) {
    const double rate_hz = 8000.0 * pow(48.0, i / 200.0);
    start(rate_hz, 1e9, 0.0);
    // 3 % more, for flutter
    assert_true(tape_line_most(&line) >= 0.2575 * rate_hz);
    assert_true(tape_line_rate_hz(&line) <= 100000.0);
    assert_true(rate_hz < 44100.0 || tape_line_rate_hz(&line) >= 44100.0);
    assert_true(tape_line_least(&line) <= 0.0055 * rate_hz);
  }
}

/// Peak above 4 kHz while the delay of a sine of amplitude 1 changes, in dB
static double
step_db(double f_hz, double from_ms, double to_ms)
{
  static double x[N];
  start(48000.0, 48.0 * from_ms, 0.0);
  check_sine(in, N, f_hz, 1.0, 48000.0);
  run(0, 48000);
  tape_line_set(&line, 48.0 * to_ms, 0.0);
  run(48000, N);
  for (uint32_t i = 0; i < N; ++i) {
    x[i] = (double)out[i];
  }
  click_high_pass(x, N, CLICK_EDGE_HZ, 48000.0);
  return click_peak_db(x + 24000, N - 24000);
}

static void
test_moves_without_a_click(void** state)
{
  (void)state;
  static const double f_hz[] = {220.0, 440.0, 997.0};
  for (uint32_t i = 0; i < 3; ++i) {
    const double far_db  = step_db(f_hz[i], 30.0, 50.7);
    const double near_db = step_db(f_hz[i], 30.0, 31.9);
    print_message("# %.0f Hz: fade %.1f dB, glide %.1f dB\n", f_hz[i], far_db,
                  near_db);
    assert_true(far_db < -80.0);
    assert_true(near_db < -80.0);
  }
}

static void
test_glide_bends_the_pitch_little(void** state)
{
  (void)state;
  // A smooth step of 1.9 ms in 100 ms: the slope is at most 1.5 * 0.019, and
  // the delay is the new one afterwards
  start(48000.0, 1440.0, 0.0);
  for (uint32_t i = 0; i < N; ++i) {
    in[i] = (float)i; // The output tells when it was recorded
  }
  run(0, 48000);
  tape_line_set(&line, 1440.0 + 1.9 * 48.0, 0.0);
  run(48000, N);
  double most = 0.0;
  for (uint32_t i = 48000; i < N; i += 96) {
    const double slope = 1.0 - (double)(out[i] - out[i - 96]) / 96.0;
    most               = fmax(most, slope);
    assert_true(slope > -1e-3);
  }
  assert_near(most, 1.5 * 0.019, 0.001);
  assert_near(60000.0 - (double)out[60000], 1440.0 + 91.2, 0.02);
}

static void
test_waits_for_its_turn(void** state)
{
  (void)state;
  // Three settings in quick succession: the last is where it comes to rest
  start(48000.0, 1440.0, 0.0);
  for (uint32_t i = 0; i < N; ++i) {
    in[i] = (float)i;
  }
  run(0, 9600);
  tape_line_set(&line, 9600.0, 0.0);
  run(9600, 9664);
  tape_line_set(&line, 2000.0, 0.0);
  run(9664, 9728);
  tape_line_set(&line, 2050.5, 0.0);
  run(9728, 48000);
  assert_near(47999.0 - (double)out[47999], 2050.5, 0.02);
}

/// First frame, linear between two, from which the delay of a slope is `delay`
static double
frame_of_delay(double delay, double slope)
{
  for (uint32_t i = N / 2; i < N; ++i) {
    const double a = i - 1 - (double)out[i - 1] / slope;
    const double b = i - (double)out[i] / slope;
    if (a < delay && b >= delay) {
      return i - 1 + (delay - a) / (b - a);
    }
  }
  fail_msg("%g is not passed", delay);
  return 0.0;
}

static void
test_a_large_step_fades_in_20_ms(void** state)
{
  (void)state;
  // What comes out of a slope tells the delay.  The share of the crossfade, 6
  // x^5
  // - 15 x^4 + 10 x^3, is 0.1 at x = 0.24664 and 0.9 as far from the end.
  const double slope = 1e-5;
  for (uint32_t i = 0; i < N; ++i) {
    in[i] = (float)(slope * i);
  }
  start(48000.0, 1000.0, 0.0);
  run(0, N / 2);
  tape_line_set(&line, 3000.0, 0.0);
  run(N / 2, N);
  const double took =
    frame_of_delay(2800.0, slope) - frame_of_delay(1200.0, slope);
  assert_near(took / 48.0 / (1.0 - 2.0 * 0.24664), 20.0, 0.2);
}

static void
test_a_small_step_glides_for_100_ms(void** state)
{
  (void)state;
  memset(in, 0, sizeof(in));
  start(48000.0, 1000.0, 0.0);
  run(0, 4800);
  tape_line_set(&line, 1010.0, 0.0);
  uint32_t n_lines = 0;
  for (uint32_t at = 4800; at < 24000; at += CONTROL_FRAMES) {
    run(at, at + CONTROL_FRAMES);
    n_lines += line.head[line.active].moving;
  }
  assert_near(n_lines * CONTROL_FRAMES / 48.0, 100.0, 1.0);
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_a_large_step_fades_in_20_ms),
    cmocka_unit_test(test_a_small_step_glides_for_100_ms),
    cmocka_unit_test(test_delay_is_exact),
    cmocka_unit_test(test_holds_250_ms_at_any_rate),
    cmocka_unit_test(test_moves_without_a_click),
    cmocka_unit_test(test_glide_bends_the_pitch_little),
    cmocka_unit_test(test_waits_for_its_turn),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
