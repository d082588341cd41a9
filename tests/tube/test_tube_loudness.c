// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Loudness of the tubed signal with the supply sagging and the treble bright:
/// that of the dry one, as the header says.  The judge is libebur128 (ITU-R
/// BS.1770) on the demo's left rhythm take at -18 dBFS RMS.

#include "tests/support/check.h"

#include "common/level/gated_level.h"
#include "common/stages/tube_stage.h"
#include "presets-demo/guitar/take.h"
#include "tests/support/rig.h"

#include <ebur128.h>

// 1.5 LU is what a compensated control may move the loudness by; two takes
// differ from the tables by 0.6 LU or less (tube_loudness.c)
#define LIMIT_LU 1.5

static uint32_t n_frames;
static float *  dry, *wet;

static int
load(void** state)
{
  (void)state;
  n_frames     = take_frames();
  int32_t* raw = calloc(n_frames, sizeof(int32_t));
  dry          = calloc(n_frames, sizeof(float));
  wet          = calloc(n_frames, sizeof(float));
  assert_true(raw && dry && wet && take_render(TAKE_RHYTHM_LEFT, raw));
  static gated_level level;
  gated_level_reset(&level, -60.0);
  const uint32_t hop = TAKE_RATE_HZ / 10;
  for (uint32_t at = 0; at + hop <= n_frames; at += hop) {
    double sum = 0.0;
    for (uint32_t i = 0; i < hop; ++i) {
      const double x = raw[at + i] / 8388608.0;
      sum += x * x;
    }
    (void)gated_level_push(&level, sum / hop);
  }
  const double gain = db_to_gain(-18.0 - gated_level_db(&level));
  for (uint32_t i = 0; i < n_frames; ++i) {
    dry[i] = (float)(gain * raw[i] / 8388608.0);
  }
  free(raw);
  return 0;
}

static int
unload(void** state)
{
  (void)state;
  free(dry);
  free(wet);
  return 0;
}

static double
loudness_lufs(const float* x)
{
  double         lufs = 0.0;
  ebur128_state* e    = ebur128_init(1, TAKE_RATE_HZ, EBUR128_MODE_I);
  assert_non_null(e);
  ebur128_set_channel(e, 0, EBUR128_LEFT);
  assert_int_equal(ebur128_add_frames_float(e, x, n_frames), EBUR128_SUCCESS);
  assert_int_equal(ebur128_loudness_global(e, &lufs), EBUR128_SUCCESS);
  ebur128_destroy(&e);
  return lufs;
}

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
  rig_run(&r, dry, wet, n_frames);
  rig_close(&r);
  return loudness_lufs(wet) - loudness_lufs(dry);
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
  return cmocka_run_group_tests_name("tube_loudness", tests, load, unload);
}
