// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Which setup was loaded survives the window, under the mark of the instance

#include "setups_rig.h"

/// Closes the window and opens another one of the same instance
static void
reopen(rig* r)
{
  float             value[PLAYING_PORTS];
  const plugin_form form = r->form;
  for (uint32_t i = 0; i < shell_param_count(form.plugin); ++i) {
    value[i] = frame_param(r->f, i);
  }
  rig_close(r);
  rig_open_form(r, &form, value);
  rig_pass(r, 0.1);
}

static void
it_is_still_loaded(void** state)
{
  rig r;
  (void)state;
  setups_open_tube(&r);
  setups_write("mine", "[tube-stage]\ndrive_db = 20\n");
  setups_load(&r, "setup", "mine");
  reopen(&r);
  assert_true(rig_has_word(&r, "mine"));
  assert_false(rig_has_word(&r, "take over"));
  assert_string_equal(r.log, "");
  setups_host_moves(&r, "drive_db", 16);
  reopen(&r);
  assert_true(rig_has_word(&r, "mine \xE2\x80\xA2")); // Still different
  assert_float_equal(rig_value(&r, "drive_db"), 16, 0);
  rig_close(&r);
}

/// Loading it moves nothing, so no gesture draws the instance's mark
static void
as_it_stood_already(void** state)
{
  rig r;
  (void)state;
  setups_open_tube(&r);
  setups_write("plain", "[tube-stage]\ntrim_db = 0\n");
  setups_load(&r, "setup", "plain");
  assert_string_equal(r.log, "");
  reopen(&r);
  assert_true(rig_has_word(&r, "plain"));
  rig_close(&r);
}

static void
a_change_while_it_was_closed_is_offered(void** state)
{
  rig r;
  (void)state;
  setups_open_tube(&r);
  setups_write("mine", "[tube-stage]\ndrive_db = 20\n");
  setups_load(&r, "setup", "mine");
  setups_write("mine", "[tube-stage]\ndrive_db = 22\n");
  reopen(&r);
  assert_float_equal(rig_value(&r, "drive_db"), 20, 0);
  assert_true(rig_has_word(&r, "take over"));
  setups_press(&r, "keep");
  reopen(&r); // That was decided
  assert_false(rig_has_word(&r, "take over"));
  setups_write("mine", "[tube-stage]\ndrive_db = 24\n");
  reopen(&r);
  setups_press(&r, "take over");
  assert_float_equal(rig_value(&r, "drive_db"), 24, 0);
  setups_write("mine", "[tube-stage]\ndrive_db = 25\n");
  rig_pass(&r, 1.5); // Watched as before
  assert_true(rig_has_word(&r, "take over"));
  rig_close(&r);
}

static void
defaults_forget_it(void** state)
{
  rig r;
  (void)state;
  setups_open_tube(&r);
  setups_write("mine", "[tube-stage]\ndrive_db = 20\n");
  setups_load(&r, "setup", "mine");
  setups_load(&r, "mine", "defaults");
  reopen(&r);
  assert_true(rig_has_word(&r, "setup"));
  rig_close(&r);
}

static void
a_file_that_is_gone_is_said(void** state)
{
  rig r;
  (void)state;
  setups_open_tube(&r);
  setups_write("mine", "[tube-stage]\ndrive_db = 20\n");
  setups_load(&r, "setup", "mine");
  assert_int_equal(unlink(setups_path("mine")), 0);
  reopen(&r);
  assert_non_null(strstr(frame_said(r.f), "mine.ini"));
  assert_float_equal(rig_value(&r, "drive_db"), 20, 0);
  rig_close(&r);
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(it_is_still_loaded),
    cmocka_unit_test(as_it_stood_already),
    cmocka_unit_test(a_change_while_it_was_closed_is_offered),
    cmocka_unit_test(defaults_forget_it),
    cmocka_unit_test(a_file_that_is_gone_is_said),
  };
  return cmocka_run_group_tests_name("setup-kept", tests, setups_enter,
                                     setups_leave);
}
