// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// The expander of DI clean-up does not chatter and does not click

#include "pause_rig.h"

#include "tests/support/click.h"

/// How often the gain turns round by more than 1 dB
static int
count_turns(uint32_t from, uint32_t to)
{
  int    turns = 0;
  int    way   = 0; // Down is -1
  double end   = gain_db(from, 5 * MS);
  for (uint32_t at = from; at + 5 * MS <= to; at += 5 * MS) {
    const double g    = gain_db(at, 5 * MS);
    const bool   up   = way <= 0 && g > end + 1.0;
    const bool   down = way >= 0 && g < end - 1.0;
    turns += (up && way < 0) || (down && way > 0);
    way = up ? 1 : down ? -1 : way;
    end = up || down || (way > 0 && g > end) || (way < 0 && g < end) ? g : end;
  }
  return turns;
}

/// A note beside one that is `below` times as strong and `beat_hz` higher, as
/// two strings almost in tune, or the two polarisations of one
static void
make_beats(double beat_hz, float below)
{
  memset(take, 0, sizeof(take));
  add_note(196.0 + beat_hz, 0, MOST);
  for (uint32_t i = 0; i < MOST; ++i) {
    take[i] *= below;
  }
  add_note(196.0, 0, MOST);
  add_noise(NOISE_DB, 0, MOST, 2);
}

/// The fade of a note does not turn round: with beats of 4 dB, as single
/// strings show (2 to 3 dB measured), at any speed; with beats that leave
/// nothing, 26 dB, from 5 Hz up.  Slower ones of that depth are pauses.
static void
test_beats_do_not_chatter(void** state)
{
  (void)state;
  static const double beats_hz[] = {0.5, 1.0, 2.0, 3.0, 5.0, 8.0, 15.0};
  for (size_t k = 0; k < sizeof(beats_hz) / sizeof(beats_hz[0]); ++k) {
    make_beats(beats_hz[k], 0.23F);
    play_both(ON, MOST);
    assert_int_equal(count_turns(4800, MOST), 0);
    assert_near(gain_db(MOST - 4800, 4800), -20.0, 0.1);

    make_beats(beats_hz[k], 0.9F);
    play_both(ON, MOST);
    const int turns = count_turns(4800, MOST);
    print_message("# deep beats of %.1f Hz: %d turns\n", beats_hz[k], turns);
    assert_true(turns == 0 || beats_hz[k] < 5.0);
  }
}

typedef enum { HISS, HUM, BUZZ, N_NOISES } noise;

/// Noise that the detector reads as `db`.  Buzz is pulses: 20 harmonics of
/// equal strength and phase.
static void
make_noise(noise what, double db, uint32_t n)
{
  memset(take, 0, sizeof(take));
  if (what == HISS) {
    add_noise(db + 10.4, 0, n, 7);
    return;
  }
  const int    harmonics = what == HUM ? 1 : 20;
  const double peak      = sqrt(2.0 / harmonics) * db_to_gain(db);
  for (uint32_t i = 0; i < n; ++i) {
    const double phase = 2.0 * DSP_PI * 100.0 * i / RATE_HZ;
    double       sum   = 0.0;
    for (int h = 1; h <= harmonics; ++h) {
      sum += cos(h * phase);
    }
    take[i] = (float)(peak * sum);
  }
}

/// Steady noise at any level around the threshold: the gain stands still
static void
test_noise_does_not_chatter(void** state)
{
  (void)state;
  const uint32_t n          = 4 * 48000;
  double         most_apart = 0.0;
  for (int what = 0; what < N_NOISES; ++what) {
    for (double db = -80.0; db <= -50.0; db += 2.0) {
      make_noise((noise)what, db, n);
      play_both(ON, n);
      double least = 0.0;
      double most  = -99.0;
      for (uint32_t at = 48000; at + 20 * MS <= n; at += 20 * MS) {
        least = fmin(least, gain_db(at, 20 * MS));
        most  = fmax(most, gain_db(at, 20 * MS));
      }
      most_apart = fmax(most_apart, most - least);
    }
  }
  print_message("# the gain moves by %.2f dB\n", most_apart);
  assert_below(most_apart, 0.3);
}

/// Makes a sine whose level goes from one to another along half a cosine
static void
make_swell(double from_db, double to_db, uint32_t length, uint32_t n)
{
  const double a = sqrt(2.0) * db_to_gain(from_db);
  const double b = sqrt(2.0) * db_to_gain(to_db);
  for (uint32_t i = 0; i < n; ++i) {
    const double u   = clampd(((double)i - n / 2.0) / length, 0.0, 1.0);
    const double amp = a + (b - a) * (0.5 - 0.5 * cos(DSP_PI * u));
    take[i] = (float)(amp * sin(2.0 * DSP_PI * CLICK_SINE_HZ * i / RATE_HZ));
  }
}

static double
click_of_swell_db(double below_db, uint32_t length, bool is_down)
{
  const uint32_t n      = 96000;
  const double   low_db = below_db - 30.0;
  char           settings[80];
  (void)snprintf(settings, sizeof(settings), "pause_db=30 pause_below_db=%.0f",
                 below_db);
  make_swell(is_down ? ALIGN_RMS_DBFS : low_db,
             is_down ? low_db : ALIGN_RMS_DBFS, length, n);
  play_both(settings, n);
  return click_of_recording(on, n, n / 2, RATE_HZ).jump_db;
}

/// A tone that comes up through the threshold within 2 ms or more, or goes
static void
test_opening_does_not_click(void** state)
{
  (void)state;
  static const uint32_t lengths_ms[] = {2, 5, 20, 50, 200};
  double                worst        = -240.0;
  for (double below_db = -80.0; below_db <= -30.0; below_db += 10.0) {
    for (int k = 0; k < 5; ++k) {
      const uint32_t length = lengths_ms[k] * MS;
      worst = fmax(worst, click_of_swell_db(below_db, length, false));
      worst = fmax(worst, click_of_swell_db(below_db, length, true));
    }
  }
  print_message("# worst %.1f dBFS\n", worst);
  assert_below(worst, CLICK_LIMIT_DB);
}

/// Jumps between two settings, both ways
static double
click_of_jumps_db(const di_cleanup_params* a, const di_cleanup_params* b)
{
  return fmax(click_of_jump(&di_cleanup_ops, RATE_HZ, a, b).jump_db,
              click_of_jump(&di_cleanup_ops, RATE_HZ, b, a).jump_db);
}

/// The sine of click.h, closed by its gain: the threshold jumps over it, the
/// range to off, the gain to above
static void
test_jumps_do_not_click(void** state)
{
  (void)state;
  double worst = -240.0;
  for (int gain_db = -24; gain_db <= 0; gain_db += 6) {
    di_cleanup_params closed =
      di_cleanup_with("pause_db=30 pause_below_db=-30");
    closed.gain_db         = (float)gain_db;
    di_cleanup_params open = closed;
    open.pause_below_db    = -80.0F;
    worst                  = fmax(worst, click_of_jumps_db(&closed, &open));
    open                   = closed;
    open.pause_db          = 0.0F;
    worst                  = fmax(worst, click_of_jumps_db(&closed, &open));
    open                   = closed;
    open.gain_db           = 12.0F;
    worst                  = fmax(worst, click_of_jumps_db(&closed, &open));
  }
  print_message("# worst %.1f dBFS\n", worst);
  assert_below(worst, CLICK_LIMIT_DB);
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_beats_do_not_chatter),
    cmocka_unit_test(test_noise_does_not_chatter),
    cmocka_unit_test(test_opening_does_not_click),
    cmocka_unit_test(test_jumps_do_not_click),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
