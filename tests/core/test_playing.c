// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Loudness of playing after a gain that depends on its level

#include "tests/support/check.h"

#include "common/core/playing.h"

static const playing_part parts[] = {{-20.0, 0.2},
                                     {-12.0, 0.5},
                                     {-6.0, 0.25},
                                     {0.0, 0.05}};

enum { N_PARTS = sizeof(parts) / sizeof(parts[0]) };

static double
constant_gain(const void* settings, double level_db)
{
  (void)level_db;
  return db_to_gain(2.0 * *(const double*)settings);
}

/// A limiter: removes all that is above a threshold
static double
limited_gain(const void* settings, double level_db)
{
  const double over_db = fmax(level_db - *(const double*)settings, 0.0);
  return db_to_gain(-2.0 * over_db);
}

/// One gain for all is as many LU as dB (ITU-R BS.1770-5, Annex 1: a level of
/// power)
static void
test_a_gain_is_as_loud(void** state)
{
  (void)state;
  for (double db = -30.0; db <= 30.0; db += 7.5) {
    assert_near(playing_loudness_lu(parts, N_PARTS, constant_gain, &db), db,
                1e-12);
  }
}

/// The mean of the powers, by hand
static void
test_parts_count_by_their_share(void** state)
{
  (void)state;
  const double limit_db = -12.0;
  // 0.2 + 0.5 + 0.25 / 10^0.6 + 0.05 / 10^1.2
  const double power = 0.7 + 0.25 * 0.25118864315 + 0.05 * 0.0630957344480;
  assert_near(playing_loudness_lu(parts, N_PARTS, limited_gain, &limit_db),
              10.0 * log10(power), 1e-9);
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_a_gain_is_as_loud),
    cmocka_unit_test(test_parts_count_by_their_share),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
