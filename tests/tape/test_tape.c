// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Losses and saturation of one pass over the tape

#include "tests/support/check.h"

#include "common/tape/tape_record.h"

#include <string.h>

#define RATE_HZ 48000.0

enum { N = 24000 };

static tape_machine machine;
static tape_track   track;
static float        x[N];

static void
test_losses_of_the_books(void** state)
{
  (void)state;
  // Wallace (1951) and Eargle (1994, sec. 167) at 19.05 cm/s, spacing 1 um, gap
  // 3 um; 40 pi lg(e) = 54.575
  assert_near(tape_spacing_loss_db(4000.0, 1e-6, 0.1905), 1.15, 0.01);
  assert_near(tape_spacing_loss_db(10000.0, 1e-6, 0.1905), 2.86, 0.01);
  assert_near(tape_spacing_loss_db(15000.0, 1e-6, 0.1905), 4.30, 0.01);
  assert_near(tape_spacing_loss_db(1.0, 1.0, 1.0), 54.575, 0.001);
  assert_near(tape_gap_loss_db(10000.0, 3e-6, 0.1905), 0.44, 0.01);
  assert_near(tape_gap_loss_db(15000.0, 3e-6, 0.1905), 1.01, 0.01);
  assert_near(tape_gap_loss_db(0.0, 3e-6, 0.1905), 0.0, 1e-9);
  // The first null is near lambda = 1.12 g (R. L. Hess, 2012)
  assert_true(tape_gap_loss_db(0.1905 / (1.11 * 3e-6), 3e-6, 0.1905) > 100.0);
}

static void
test_machine_is_one_of_its_kind(void** state)
{
  (void)state;
  // 7.5 inches a second, within 1.5 % (DIN 45 500 sheet 4)
  assert_near(TAPE_SPEED_M_S, 7.5 * 0.0254, 0.015 * 7.5 * 0.0254);

  // Losses of a pass that is not equalised, from a good machine, 0.5 um spacing
  // and 2 um gap, to a worn one, 1.5 um and 5 um (from memory), by the laws
  // above: computed
  static const struct {
    double f_hz, least_db, most_db;
  } rows[] = {{2000, 0.29, 0.91},  {4000, 0.60, 1.91},  {8000, 1.27, 4.23},
              {10000, 1.63, 5.55}, {12500, 2.10, 7.36}, {15000, 2.59, 9.37}};
  static const double rates_hz[] = {44100, 48000, 96000, 192000, 384000};
  for (uint32_t r = 0; r < 5; ++r) {
    tape_pass pass;
    tape_pass_init(&pass, (tape_limits){0.0, 0.0}, rates_hz[r]);
    double last_db = 0.0;
    for (uint32_t i = 0; i < 6; ++i) {
      const double db =
        -gain_to_db(tape_pass_gain(&pass, rows[i].f_hz, rates_hz[r]));
      assert_true(db > rows[i].least_db && db < rows[i].most_db);
      assert_true(db > last_db);
      last_db = db;
    }
    // 40 Hz to 12.5 kHz within 5 dB (DIN 45 500 sheet 4)
    const double low_db = -gain_to_db(tape_pass_gain(&pass, 40, rates_hz[r]));
    const double high_db =
      -gain_to_db(tape_pass_gain(&pass, 12500, rates_hz[r]));
    assert_near(low_db, 0.0, 0.5);
    assert_near(high_db - low_db, 2.5, 2.5);
  }
}

/// The filter's gain against the laws of the books, and a low-pass of second
/// order at `playback_hz`: 10 lg(1 + (f / f0)^4) more
static void
check_filter(double playback_hz, double rate_hz)
{
  static const double f_hz[] = {1000, 2000, 4000, 10000, 15000, 20000};
  tape_pass           pass;
  tape_pass_init(&pass, (tape_limits){playback_hz, 0.0}, rate_hz);
  for (uint32_t i = 0; i < (playback_hz > 0.0 ? 5 : 6); ++i) {
    const double more =
      playback_hz > 0.0 ? pow(f_hz[i] / playback_hz, 4.0) : 0.0;
    const double want =
      tape_spacing_loss_db(f_hz[i], TAPE_SPACING_M, TAPE_SPEED_M_S) +
      tape_gap_loss_db(f_hz[i], TAPE_GAP_M, TAPE_SPEED_M_S) +
      10.0 * log10(1.0 + more);
    assert_near(-gain_to_db(tape_pass_gain(&pass, f_hz[i], rate_hz)), want,
                0.1);
  }
}

static void
test_filter_has_these_losses(void** state)
{
  (void)state;
  static const double rates_hz[] = {44100, 48000, 96000, 192000, 384000};
  for (uint32_t r = 0; r < 5; ++r) {
    check_filter(0.0, rates_hz[r]);
    check_filter(12000.0, rates_hz[r]);
  }
}

static void
test_a_pass_never_gains(void** state)
{
  (void)state;
  static const double rates_hz[] = {8000, 22050, 44100, 48000, 96000, 384000};
  for (uint32_t r = 0; r < 6; ++r) {
    for (uint32_t limited = 0; limited < 2; ++limited) {
      tape_pass         pass;
      const tape_limits limits = {limited ? 12000.0 : 0.0,
                                  limited ? 0.25 * rates_hz[r] : 0.0};
      tape_pass_init(&pass, limits, rates_hz[r]);
      for (int i = 0; i <= 1000; ++i) {
        const double f_hz = 0.5e-3 * i * rates_hz[r];
        assert_true(fabs(tape_pass_gain(&pass, f_hz, rates_hz[r])) <= 1.0);
      }
      // Beyond the limit nothing is left
      if (limited && rates_hz[r] >= 96000.0) {
        assert_true(
          fabs(tape_pass_gain(&pass, 0.26 * rates_hz[r], rates_hz[r])) < 1e-3);
      }
    }
  }
}

/// Amplitude of the component at `n_f` times `f_hz` of a sine through the
/// machine
static double
play(double f_hz, double peak, double n_f)
{
  tape_machine_init(&machine, (tape_limits){0.0, 0.0}, RATE_HZ);
  assert_true(tape_track_init(&machine, &track));
  tape_track_reset(&track);
  check_sine(x, N, f_hz, peak, RATE_HZ);
  for (uint32_t at = 0; at < N; at += 24) {
    tape_track_process(&machine, &track, x + at, 24);
  }
  return check_tone(x + N / 2, N / 2, n_f * f_hz, RATE_HZ);
}

static void
test_full_level(void** state)
{
  (void)state;
  // DIN 45 500 sheet 4: 3 % third harmonic at 333 Hz
  const double third =
    play(336.0, TAPE_FULL_LEVEL, 3.0) / play(336.0, TAPE_FULL_LEVEL, 1.0);
  print_message("# third harmonic %.2f %%\n", 100.0 * third);
  assert_near(third, 0.03, 0.001);
}

/// Level where the gain has fallen by 1 dB, in dB
static double
compressed_at_db(double f_hz)
{
  const double quiet = play(f_hz, 1e-3, 1.0) / 1e-3;
  double       db    = -30.0;
  while (gain_to_db(play(f_hz, db_to_gain(db), 1.0) / db_to_gain(db) / quiet) >
         -1.0) {
    db += 0.1;
  }
  return db;
}

static void
test_treble_saturates_first(void** state)
{
  (void)state;
  // DIN 45 500 sheet 4 allows an overload at 10 kHz up to 15 dB below that at
  // 333 Hz; 10 to 15 dB
  const double bass_db   = compressed_at_db(336.0);
  const double treble_db = compressed_at_db(10000.0);
  print_message("# 1 dB of compression %.1f dB earlier\n", bass_db - treble_db);
  assert_true(bass_db - treble_db >= 10.0 && bass_db - treble_db <= 15.0);
  // tanh(A sin): the fundamental is compressed by 1 dB at A = 0.713 (Bessel
  // series); the lift adds 0.1 dB at 336 Hz
  assert_near(bass_db, gain_to_db(0.713), 0.25);

  // Between them it follows the lift that equalisation at 19 cm/s asks for, 10
  // lg(1 + (2 pi f t)^2), t from 50 us (NAB) to 70 us (IEC 1; IASA TC-04, sec.
  // 5.4.10): 2.0 to 3.3 dB at 2.4 kHz, 4.9 to 7.1 dB at 4.6 kHz
  static const double f_hz[] = {2400.0, 4600.0};
  for (uint32_t i = 0; i < 2; ++i) {
    const double w     = 2.0 * DSP_PI * f_hz[i];
    const double least = 10.0 * log10(1.0 + pow(w * 50e-6, 2.0));
    const double most  = 10.0 * log10(1.0 + pow(w * 70e-6, 2.0));
    const double got   = bass_db - compressed_at_db(f_hz[i]);
    print_message("# at %.0f Hz %.1f dB earlier, %.1f to %.1f\n", f_hz[i], got,
                  least, most);
    assert_true(got > least - 0.1 && got < most + 0.1);
  }
}

static void
test_quiet_sound_is_only_delayed(void** state)
{
  (void)state;
  // An impulse comes out as the filter's taps, after the latency stated
  tape_machine_init(&machine, (tape_limits){0.0, 0.0}, RATE_HZ);
  assert_true(tape_track_init(&machine, &track));
  tape_track_reset(&track);
  memset(x, 0, sizeof(x));
  for (uint32_t i = 0; i < 100; ++i) { // A smooth pulse, below 8 kHz
    x[i] = (float)(1e-3 * pow(sin(DSP_PI * i / 100.0), 4.0));
  }
  const uint32_t over      = oversample_latency_frames(machine.factor);
  const uint32_t half      = machine.pass.n / 2;
  float          want[400] = {0};
  for (uint32_t i = 0; i < 100; ++i) {
    for (uint32_t k = 0; k < machine.pass.n; ++k) {
      want[over + i + k] += x[i] * machine.pass.tap[k];
    }
  }
  for (uint32_t at = 0; at < 400; at += 20) {
    tape_track_process(&machine, &track, x + at, 20);
  }
  assert_true(tape_machine_latency(&machine) == over + half);
  for (uint32_t i = 0; i < 400; ++i) {
    assert_near((double)x[i], (double)want[i], 1e-7);
  }
}

static void
test_does_not_alias(void** state)
{
  (void)state;
  // A tone of 5 kHz, 16 dB above full level after the lift, whose 37th
  // harmonic would come down to 7 kHz at four times the rate, and 39th to 3 kHz
  const double fundamental = play(5000.0, 1.0, 1.0);
  double       worst       = 0.0;
  for (int k = 1; k < 20; ++k) {
    if (k % 5) {
      worst = fmax(worst, check_tone(x + N / 2, N / 2, 1000.0 * k, RATE_HZ));
    }
  }
  print_message("# aliases %.1f dB\n", gain_to_db(worst / fundamental));
  assert_true(gain_to_db(worst / fundamental) < -100.0);
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_losses_of_the_books),
    cmocka_unit_test(test_machine_is_one_of_its_kind),
    cmocka_unit_test(test_filter_has_these_losses),
    cmocka_unit_test(test_a_pass_never_gains),
    cmocka_unit_test(test_full_level),
    cmocka_unit_test(test_treble_saturates_first),
    cmocka_unit_test(test_quiet_sound_is_only_delayed),
    cmocka_unit_test(test_does_not_alias),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
