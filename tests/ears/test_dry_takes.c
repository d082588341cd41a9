// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// The dry takes of "Low Tide" measure like recorded ones

#include "ears_bands.h"
#include "ears_level.h"
#include "ears_sound.h"

#include "tests/support/check.h"

static ears_sound sounds[N_TAKES];

static int
play_all(void** state)
{
  (void)state;
  for (int k = 0; k < N_TAKES; ++k) {
    sounds[k] = ears_sound_take((take)k);
  }
  return 0;
}

static int
free_all(void** state)
{
  (void)state;
  for (int k = 0; k < N_TAKES; ++k) {
    ears_sound_free(&sounds[k]);
  }
  return 0;
}

// Levels of 400 ms, 10th to 90th percentile: 12 dB of a recorded rhythm take,
// 15 dB of a lead
static void
test_spread(void** state)
{
  (void)state;
  for (int k = 0; k < N_TAKES; ++k) {
    const double spread = ears_spread_db(sounds[k].x, sounds[k].n);
    print_message("# %s: spread %.1f dB\n", take_name((take)k), spread);
    assert_near(spread, 13.5, 3.0);
  }
}

// A recorded direct rhythm track has -12, -15, -22 and -28 dB re 1 kHz at 5,
// 6.3, 8 and 10 kHz; instruments differ by some dB (common practice)
static void
test_rhythm_is_bright(void** state)
{
  (void)state;
  static const struct {
    double hz, db;
  } REAL[] = {
    {5000.0, -12.0}, {6300.0, -15.0}, {8000.0, -22.0}, {10000.0, -28.0}};
  for (int k = TAKE_RHYTHM_LEFT; k <= TAKE_RHYTHM_RIGHT; ++k) {
    const ears_bands b     = ears_bands_of(sounds[k].x, sounds[k].n);
    const double     at_1k = ears_third_db(&b, 1000.0);
    for (size_t i = 0; i < sizeof(REAL) / sizeof(REAL[0]); ++i) {
      assert_near(ears_third_db(&b, REAL[i].hz) - at_1k, REAL[i].db, 6.0);
    }
  }
}

// The input lets nothing through that no loudspeaker plays; a recorded lead
// take has -53 dB
static void
test_no_rumble(void** state)
{
  (void)state;
  for (int k = 0; k < N_TAKES; ++k) {
    const ears_bands b  = ears_bands_of(sounds[k].x, sounds[k].n);
    const double     db = 10.0 * log10(b.below_20_hz / b.all);
    print_message("# %s: %.1f dB below 20 Hz\n", take_name((take)k), db);
    assert_true(db < -55.0);
  }
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_spread),
    cmocka_unit_test(test_rhythm_is_bright),
    cmocka_unit_test(test_no_rumble),
  };
  return cmocka_run_group_tests(tests, play_all, free_all);
}
