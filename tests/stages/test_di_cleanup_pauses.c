// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// DI clean-up turns pauses down and leaves the playing alone

#include "pause_rig.h"

#include "tests/support/plucks.h"
#include "tests/support/promises.h"

static void
test_noise_is_turned_down(void** state)
{
  (void)state;
  for (int db = 0; db <= 30; db += 6) {
    char settings[64];
    (void)snprintf(settings, sizeof(settings), "pause_db=%d", db);
    memset(take, 0, sizeof(take));
    add_note(110.0, 0, 24000);
    add_noise(NOISE_DB, 0, 96000, 1);
    play_both(settings, 96000);
    assert_near(gain_db(0, 24000), 0.0, 1e-3);
    assert_near(gain_db(24000 + 700 * MS, 500 * MS), -db, 0.01);
  }
}

/// At 0 the threshold does nothing, to the bit
static void
test_off_is_off(void** state)
{
  (void)state;
  memset(take, 0, sizeof(take));
  add_note(110.0, 0, 48000);
  add_noise(NOISE_DB, 0, 96000, 1);
  play_both("pause_db=0 pause_below_db=-80", 96000);
  memcpy(on, off, sizeof(on));
  play_both("pause_db=0 pause_below_db=-30", 96000);
  assert_memory_equal(on, off, 96000 * sizeof(float));
}

/// Where the note of the take (without noise) passes `db` for the last time
static uint32_t
last_above(const float* x, uint32_t n, double db)
{
  uint32_t at = n - 50 * MS;
  while (at > 0 && check_rms_db(x + at, 50 * MS) < db) {
    at -= MS;
  }
  return at;
}

/// A held note keeps its decay within 1 dB until it is 10 dB above the noise.
/// At the end of the take only noise is left, turned down.
static void
test_decay_is_kept(void** state)
{
  (void)state;
  static const double notes_hz[] = {82.41, 110.0, 146.8, 246.9, 659.3, 1318.5};
  static float        clean[MOST];
  const uint32_t      n = MOST;
  for (size_t k = 0; k < sizeof(notes_hz) / sizeof(notes_hz[0]); ++k) {
    memset(take, 0, sizeof(take));
    add_note(notes_hz[k], 0, n);
    play_both("pause_db=0", n);
    memcpy(clean, off, sizeof(clean));
    add_noise(NOISE_DB, 0, n, 3);
    play_both(ON, n);
    const uint32_t end   = last_above(clean, n, NOISE_DB + 10.0);
    double         worst = 0.0;
    for (uint32_t at = 0; at < end; at += 50 * MS) {
      worst = fmin(worst, gain_db(at, 50 * MS));
    }
    print_message("# %.1f Hz: %.2f dB until %.1f s, %.1f at the end\n",
                  notes_hz[k], worst, end / RATE_HZ, gain_db(n - 4800, 4800));
    assert_true(end > 48000U && end < n - 9600);
    assert_near(worst, 0.0, 1.0);
    assert_near(gain_db(n - 4800, 4800), -20.0, 0.1);
  }
}

/// Palm mutes (Karplus-Strong, T60 near 0.5 s with a strong low-pass): the
/// stroke's level over time is the same to 60 dB below its peak
static void
test_mutes_are_kept(void** state)
{
  (void)state;
  memset(take, 0, sizeof(take));
  uint32_t       seed = 9;
  const uint32_t n    = 8 * 48000;
  for (uint32_t beat = 0; beat < 8; ++beat) {
    pluck_add(take + beat * 48000U, 47000, pluck_hz((int)beat % 3), 0.8, 1.0,
              &seed);
  }
  add_noise(NOISE_DB, 0, n, 2);
  play_both(ON, n);
  double worst = 0.0;
  for (uint32_t beat = 0; beat < 8; ++beat) {
    const float* const x      = off + beat * 48000U;
    const double       peak   = check_rms_db(x, 10 * MS);
    uint32_t           length = 0;
    while (length < 900 * MS &&
           check_rms_db(x + length, 10 * MS) > NOISE_DB + 10.0) {
      length += 5 * MS;
    }
    for (uint32_t at = 5 * MS; at < length; at += 5 * MS) {
      worst = fmin(worst, gain_db(beat * 48000U + at, 5 * MS));
    }
    if (beat == 0) {
      print_message("# a mute lasts %.0f ms, from %.1f dBFS\n",
                    length / (double)MS, peak);
    }
  }
  print_message("# worst %.3f dB\n", worst);
  assert_near(worst, 0.0, 0.01);
  // And between them it closes
  assert_near(gain_db(8 * 48000 - 100 * MS, 50 * MS), -20.0, 0.1);
}

/// What of a pick is lost: energy of the first 2 ms, and nothing after.  These
/// strings are at their loudest at once; a real one takes a ms to get there.
static void
test_attacks_are_kept(void** state)
{
  (void)state;
  static const struct {
    double level_db, first_db;
  } rows[] = {{0, 1}, {-12, 1.2}, {-24, 2}};
  for (int k = 0; k < 3; ++k) {
    memset(take, 0, sizeof(take));
    uint32_t seed = 4;
    for (uint32_t beat = 0; beat < 8; ++beat) {
      pluck_add(take + 24000 + beat * 48000U, 9600, pluck_hz((int)beat * 5),
                0.8 * db_to_gain(rows[k].level_db), 0.0, &seed);
    }
    add_noise(NOISE_DB, 0, 8 * 48000, 2);
    play_both(ON, 8 * 48000);
    double first = 0.0;
    double later = 0.0;
    for (uint32_t beat = 0; beat < 8; ++beat) {
      const uint32_t at = 24000 + beat * 48000U;
      assert_near(gain_db(at - 100 * MS, 90 * MS), -20.0, 0.1);
      first += gain_db(at, 2 * MS) / 8.0;
      later = fmin(later, gain_db(at + 2 * MS, 2 * MS));
    }
    print_message("# %.0f dB: first 2 ms %.2f dB, next %.4f dB\n",
                  rows[k].level_db, first, later);
    assert_near(first, 0.0, rows[k].first_db);
    assert_near(later, 0.0, 0.01);
  }
}

/// The louder channel opens both, by the same gain: the image stands still
static void
test_channels_are_linked(void** state)
{
  (void)state;
  static float      left[96000], right[96000];
  const uint32_t    n = 96000;
  di_cleanup_params v = di_cleanup_with(ON);
  for (int swap = 0; swap < 2; ++swap) {
    memset(take, 0, sizeof(take));
    add_note(196.0, 48000, 48000);
    add_noise(NOISE_DB, 0, n, 6);
    for (uint32_t i = 0; i < n; ++i) {
      left[i]  = (swap ? 0.125F : 1.0F) * take[i];
      right[i] = (swap ? 1.0F : 0.125F) * take[i];
    }
    play_both(ON, n);
    rig g = rig_open(&di_cleanup_ops, RATE_HZ, 2, &v);
    rig_play(&g, left, right, n);
    rig_close(&g);
    for (uint32_t i = 0; i < n; ++i) {
      assert_true((swap ? right : left)[i] == on[i]);
      assert_true((swap ? left : right)[i] == 0.125F * on[i]);
    }
  }
}

static void
test_promises(void** state)
{
  (void)state;
  const di_cleanup_params a = di_cleanup_with("pause_db=0");
  const di_cleanup_params b =
    di_cleanup_with("pause_db=30 pause_below_db=-30 gain_db=-12");
  promise_both_forms(&di_cleanup_ops, &b, NULL);
  promise_both_forms(&di_cleanup_ops, &a, &b);
  promise_both_forms(&di_cleanup_ops, &b, &a);
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_noise_is_turned_down),
    cmocka_unit_test(test_off_is_off),
    cmocka_unit_test(test_decay_is_kept),
    cmocka_unit_test(test_mutes_are_kept),
    cmocka_unit_test(test_attacks_are_kept),
    cmocka_unit_test(test_channels_are_linked),
    cmocka_unit_test(test_promises),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
