// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Stages as the voice connects them: two of them overdriven by 82 Hz, against
/// the differential equations of both circuits with their real coupling.  The
/// figures are those of test_tube_equations.c, which says how they were
/// computed.

#include "tests/support/check.h"

#include "common/tube/tube_voice.h"

#define RATE_HZ 96000.0
#define F_HZ    82.0

enum { SETTLE = 288000, WINDOW = 48000 }; // 41 periods

static tube_voice voice;
static float      y[SETTLE + WINDOW];

/// `drive_v` at the first grid
static void
play(double drive_v)
{
  tube_voice_prepare();
  tube_voice_init(&voice, RATE_HZ, 1, 2, 2, 0.0);
  check_sine(y, SETTLE + WINDOW, F_HZ, drive_v / voice.pad, RATE_HZ);
  for (uint32_t at = 0; at < SETTLE + WINDOW; at += CONTROL_FRAMES) {
    const float* const in[]  = {y + at};
    float* const       out[] = {y + at};
    tube_voice_control(&voice, 0.0, 0.0);
    tube_voice_process(&voice, in, out, CONTROL_FRAMES);
  }
}

static void
test_two_stages(void** state)
{
  (void)state;
  static const struct {
    double drive_v, first_v, harmonics_db[4];
  } rows[] = {
    {0.1, 16.34750, {-37.098, -54.361, -83.960, -104.694}},
    {0.5, 63.09200, {-28.853, -19.009, -35.033, -41.224}},
    {2.0, 84.31706, {-34.237, -10.255, -35.930, -16.239}},
  };
  for (uint32_t i = 0; i < 3; ++i) {
    play(rows[i].drive_v);
    const float* const last  = y + SETTLE;
    const double       first = check_tone(last, WINDOW, F_HZ, RATE_HZ);
    print_message("# %g V: %.3f V", rows[i].drive_v, first);
    for (uint32_t h = 2; h <= 5; ++h) {
      const double db =
        gain_to_db(check_tone(last, WINDOW, h * F_HZ, RATE_HZ) / first);
      print_message(", %.2f", db);
      if (rows[i].harmonics_db[h - 2] > -80.0) {
        assert_near(db, rows[i].harmonics_db[h - 2], 0.15);
      }
    }
    print_message("\n");
    assert_near(gain_to_db(first / rows[i].first_v), 0.0, 0.15);
  }
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_two_stages),
  };
  return cmocka_run_group_tests_name("tube_voice", tests, NULL, NULL);
}
