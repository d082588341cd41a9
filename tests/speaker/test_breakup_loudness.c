// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Loudness of the speaker over the whole range of its controls: within 2 LU of
/// the default's on the demo's left rhythm take

#include "tests/support/aligned_take.h"

#include "common/stages/speaker_breakup.h"

/// At drive, mix and feedback `c`, or all at their defaults if that is NULL
static double
loudness_lufs(const float* c, float breakup_db)
{
  rig r = rig_open(&speaker_breakup_ops, TAKE_RATE_HZ, 1, NULL);
  rig_set(&r, "quality", 0.0);
  if (c) {
    rig_set(&r, "drive_db", (double)c[0]);
    rig_set(&r, "mix_pc", (double)c[1]);
    rig_set(&r, "feedback_pc", (double)c[2]);
    rig_set(&r, "breakup_db", (double)breakup_db);
  }
  rig_run(&r, take_dry, take_wet, n_take);
  rig_close(&r);
  return take_lufs(take_wet);
}

static void
test_corners(void** state)
{
  (void)state;
  // Drive, mix, feedback
  static const float corners[][3] = {
    {0, 45, 0},    {0, 45, 95},    {0, 100, 0},    {0, 100, 60},  {0, 100, 95},
    {12, 45, 60},  {12, 100, 95},  {24, 45, 95},   {24, 100, 95}, {24, 100, 0},
    {-12, 45, 60}, {-12, 100, 95}, {-24, 100, 95}, {-24, 45, 0},
  };
  const double   home = loudness_lufs(NULL, 0.0F);
  const uint32_t n    = sizeof(corners) / sizeof(corners[0]);
  for (uint32_t i = 0; i < 2 * n; ++i) {
    const float* const c       = corners[i / 2];
    const float        most_db = i % 2 ? 36.0F : 18.0F;
    const double       lu      = loudness_lufs(c, most_db) - home;
    print_message("# drive %3g, mix %3g, feedback %2g, breakup %g: %+.2f LU\n",
                  (double)c[0], (double)c[1], (double)c[2], (double)most_db,
                  lu);
    assert_near(lu, 0.0, 2.0);
  }
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_corners),
  };
  return cmocka_run_group_tests_name("breakup_loudness", tests, take_load,
                                     take_unload);
}
