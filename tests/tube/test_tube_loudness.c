// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Loudness of the tubed signal with the supply sagging and the treble bright:
/// that of the dry one, as the header says.  The judge is libebur128 (ITU-R
/// BS.1770) on the demo's left rhythm take at -18 dBFS RMS.

#include "tests/support/aligned_take.h"

#include "common/stages/tube_stage.h"

// 1.5 LU is what a compensated control may move the loudness by; two takes
// differ from the tables by 0.6 LU or less (tube_loudness.c)
#define LIMIT_LU 1.5

/// Loudness of the tube alone against the dry take
static double
gained_lu(int stages, double drive_db, double sag_pc, double bright_db)
{
  rig r = rig_open(&tube_stage_ops, TAKE_RATE_HZ, 1, NULL);
  rig_set(&r, "stages", stages - 1);
  rig_set(&r, "quality", 0.0);
  rig_set(&r, "blend_pc", 100.0);
  rig_set(&r, "drive_db", drive_db);
  rig_set(&r, "sag_pc", sag_pc);
  rig_set(&r, "bright_db", bright_db);
  rig_run(&r, take_dry, take_wet, n_take);
  rig_close(&r);
  return take_lufs(take_wet) - take_lufs(take_dry);
}

static void
check_corner(double sag_pc, double bright_db)
{
  static const double drives_db[] = {-12.0, 18.0, 48.0}; // Ends and default
  for (int stages = 1; stages <= 3; ++stages) {
    for (int d = 0; d < 3; ++d) {
      const double lu = gained_lu(stages, drives_db[d], sag_pc, bright_db);
      print_message("# %d, drive %3.0f, sag %3.0f, bright %2.0f: %+.2f LU\n",
                    stages, drives_db[d], sag_pc, bright_db, lu);
      assert_near(lu, 0.0, LIMIT_LU);
    }
  }
}

static void
test_without_either(void** state)
{
  (void)state;
  check_corner(0.0, 0.0);
}

static void
test_sag(void** state)
{
  (void)state;
  check_corner(100.0, 0.0);
}

static void
test_bright(void** state)
{
  (void)state;
  check_corner(0.0, 12.0);
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_without_either),
    cmocka_unit_test(test_sag),
    cmocka_unit_test(test_bright),
  };
  return cmocka_run_group_tests_name("tube_loudness", tests, take_load,
                                     take_unload);
}
