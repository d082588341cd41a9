// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// The menu of setups: what is shipped and what is the user's own can be
/// loaded, as one gesture, saved, and is watched on disk; what is broken says
/// so in one line

#include "setups_rig.h"

#include "plugins/setup/setup_chain.h"
#include "plugins/window/setup_list.h"

#include <dirent.h>

// ---------------------------------------------------------------------------

static void
shipped_setups_with_this_stage_are_listed(void** state)
{
  rig r;
  (void)state;
  setups_open_tube(&r);
  setups_press(&r, "setup");
  assert_true(rig_has_word(&r, "rhythm"));
  assert_true(rig_has_word(&r, "lead"));
  assert_false(rig_has_word(&r, "plate")); // Has no tube stage
  assert_true(rig_has_word(&r, "defaults"));
  rig_close(&r);
}

static void
the_bundle_holds_all_shipped_setups(void** state)
{
  uint32_t   n = 0;
  DIR* const d = opendir(SETUP_DIR);
  (void)state;
  assert_non_null(d);
  for (struct dirent* e = NULL; (e = readdir(d));) {
    char path[1024];
    if (strstr(e->d_name, ".ini")) {
      (void)snprintf(path, sizeof(path), "%s/%s", BUNDLE_DIR, e->d_name);
      if (access(path, R_OK)) {
        fail_msg("%s is not in the bundle", e->d_name);
      }
      ++n;
    }
  }
  (void)closedir(d);
  assert_true(n > 10);
}

/// As the renderer reads it, with its base
static void
loading_sets_the_stage_in_one_gesture(void** state)
{
  rig                r;
  setup_chain        chain;
  failure            f = {""};
  setup_table* const t = setup_table_new();
  (void)state;
  setups_open_tube(&r);
  setups_host_moves(&r, "bias_pc", 33);
  setups_load(&r, "setup", "lead");
  assert_true(
    setup_chain_load(&chain, SETUP_DIR "/lead.ini", setup_table_parts(t), &f));
  const int part = setup_parts_find(setup_table_parts(t), "tube-stage");
  const setup_stage* const s = setup_chain_stage(&chain, (uint32_t)part);
  for (uint32_t i = SHELL_FIRST_PARAMS; i < shell_shown_count(r.form.plugin);
       ++i) {
    if (shell_param_is_stages(r.form.plugin, i)) {
      assert_float_equal(frame_param(r.f, i), s->values[i], 0);
    }
  }
  assert_true(rig_has_word(&r, "lead"));
  assert_non_null(strstr(frame_said(r.f), "lead loaded"));
  setups_press(&r, "undo");
  assert_float_equal(rig_value(&r, "bias_pc"), 33, 0);
  assert_float_equal(rig_value(&r, "drive_db"),
                     shell_param(r.form.plugin, rig_param(&r, "drive_db"))->def,
                     0);
  setup_chain_clear(&chain);
  setup_table_free(t);
  rig_close(&r);
}

static void
a_dot_follows_the_name_once_a_value_differs(void** state)
{
  rig r;
  (void)state;
  setups_open_tube(&r);
  setups_load(&r, "setup", "rhythm");
  const float drive = rig_value(&r, "drive_db");
  assert_true(rig_has_word(&r, "rhythm"));
  setups_host_moves(&r, "drive_db", drive + 1);
  assert_true(rig_has_word(&r, "rhythm \xE2\x80\xA2"));
  setups_host_moves(&r, "drive_db", drive);
  assert_true(rig_has_word(&r, "rhythm"));
  setups_host_moves(&r, "enabled", 0); // The track's
  assert_true(rig_has_word(&r, "rhythm"));
  rig_close(&r);
}

static void
defaults_set_all_but_the_track_s(void** state)
{
  rig r;
  (void)state;
  setups_open_tube(&r);
  setups_load(&r, "setup", "rhythm");
  setups_host_moves(&r, "enabled", 0);
  setups_load(&r, "rhythm", "defaults");
  for (uint32_t i = 0; i < shell_shown_count(r.form.plugin); ++i) {
    const param_info* const p = shell_param(r.form.plugin, i);
    assert_float_equal(frame_param(r.f, i),
                       strcmp(p->symbol, "enabled") ? p->def : 0, 0);
  }
  assert_true(rig_has_word(&r, "setup"));
  rig_close(&r);
}

// ---------------------------------------------------------------------------
// The user's own

static void
saving_makes_a_setup_of_ones_own(void** state)
{
  rig r;
  (void)state;
  setups_open_tube(&r);
  setups_host_moves(&r, "drive_db", 31.25F);
  setups_load(&r, "setup", "save as tube-stage");
  assert_string_equal(setups_read("tube-stage"),
                      "[tube-stage]\ndrive_db = 31.25\n");
  assert_true(rig_has_word(&r, "tube-stage"));
  rig_pass(&r, 3); // What we wrote ourselves is no news
  assert_false(rig_has_word(&r, "take over"));
  setups_host_moves(&r, "drive_db", 3);
  setups_load(&r, "tube-stage \xE2\x80\xA2", "defaults");
  setups_press(&r, "setup");
  assert_true(rig_has_word(&r, "rhythm")); // Beside the shipped ones
  setups_press(&r, "tube-stage");
  assert_float_equal(rig_value(&r, "drive_db"), 31.25, 0);
  rig_close(&r);
}

static void
a_name_can_be_typed(void** state)
{
  rig r;
  (void)state;
  setups_open_tube(&r);
  setups_host_moves(&r, "drive_db", 31.25F);
  setups_press(&r, "setup");
  const window_event dash = {.kind = EVENT_KEY, .key = KEY_TEXT, .text = '-'};
  assert_false(frame_event(r.f, &dash)); // Begins with a letter or a digit
  rig_type(&r, "My lead/2");             // A name is no path
  assert_true(rig_has_word(&r, "save as My lead2"));
  assert_true(rig_key(&r, KEY_BACKSPACE, false));
  assert_true(rig_key(&r, KEY_ENTER, false));
  assert_string_equal(setups_read("My lead"),
                      "[tube-stage]\ndrive_db = 31.25\n");
  assert_true(rig_has_word(&r, "My lead"));
  rig_close(&r);
}

static void
what_is_there_is_asked_for(void** state)
{
  static const char theirs[] = "[tube-stage]\ndrive_db = 20\n";
  rig               r;
  (void)state;
  setups_open_tube(&r);
  setups_write("mine", theirs);
  setups_host_moves(&r, "drive_db", 31.25F);
  setups_press(&r, "setup");
  rig_type(&r, "mine");
  setups_press(&r, "save as mine");
  assert_string_equal(setups_read("mine"), theirs);
  assert_true(rig_has_word(&r, "save as mine")); // Still open
  rig_type(&r, "2"); // Another name is asked for anew
  assert_true(rig_key(&r, KEY_BACKSPACE, false));
  assert_true(rig_key(&r, KEY_ENTER, false));
  assert_string_equal(setups_read("mine"), theirs);
  assert_true(rig_key(&r, KEY_ENTER, false));
  assert_string_equal(setups_read("mine"), "[tube-stage]\ndrive_db = 31.25\n");
  // The menu forgets what was typed, and what is loaded needs no question
  setups_host_moves(&r, "drive_db", 3);
  setups_load(&r, "mine \xE2\x80\xA2", "save as mine");
  assert_string_equal(setups_read("mine"), "[tube-stage]\ndrive_db = 3\n");
  rig_close(&r);
}

static void
saving_keeps_the_base_of_ones_own(void** state)
{
  rig r;
  (void)state;
  setups_open_tube(&r);
  setups_write("mine",
               "[tube-stage]\ndrive_db = 20\n[air-shelf]\nair_db = 2\n");
  setups_write("yours", "; Softer\nfrom = mine.ini\n[tube-stage]\n"
                        "drive_db = base - 3 ; quite\n");
  setups_load(&r, "setup", "yours");
  assert_float_equal(rig_value(&r, "drive_db"), 17, 0);
  setups_host_moves(&r, "drive_db", 16);
  setups_load(&r, "yours \xE2\x80\xA2", "save as yours");
  assert_string_equal(setups_read("yours"), "; Softer\nfrom = mine.ini\n"
                                            "[tube-stage]\ndrive_db = base - 4"
                                            " ; quite\n");
  rig_close(&r);
}

static void
what_is_broken_says_so_in_one_line(void** state)
{
  static const struct {
    const char* text;
    const char* said;
  } broken[] = {
    {"[tube-stage]\ndrive_db = 200\n", "mine.ini:2: drive_db = 200 is out of"},
    {"from = mine.ini\n", "mine.ini:1: from = mine.ini leads back to"},
    {"[tube-stage]\nyes\n", "mine.ini:2: a line without '='"},
  };
  (void)state;
  for (size_t i = 0; i < sizeof(broken) / sizeof(broken[0]); ++i) {
    rig r;
    setups_open_tube(&r);
    setups_write("mine", broken[i].text);
    r.log[0] = '\0';
    setups_load(&r, "setup", "mine");
    if (!strstr(frame_said(r.f), broken[i].said) ||
        strchr(frame_said(r.f), '\n')) {
      fail_msg("'%s', not '%s'", frame_said(r.f), broken[i].said);
    }
    assert_string_equal(r.log, "");
    assert_true(rig_has_word(&r, "setup"));
    rig_close(&r);
  }
}

static void
many_setups_come_page_by_page(void** state)
{
  rig r;
  (void)state;
  setups_open_tube(&r);
  for (int i = 0; i < 12; ++i) {
    char name[16];
    (void)snprintf(name, sizeof(name), "z%02d", i);
    setups_write(name, "[tube-stage]\n");
  }
  setups_press(&r, "setup");
  assert_false(rig_has_word(&r, "z11"));
  setups_press(&r, "more \xE2\x80\xA6");
  assert_false(rig_has_word(&r, "rhythm"));
  setups_press(&r, "more \xE2\x80\xA6");
  setups_press(&r, "z11");
  assert_true(rig_has_word(&r, "z11"));
  rig_close(&r);
}

// ---------------------------------------------------------------------------
// Changed on disk

/// The lead, when the rhythm that it is based on changes
static void
a_change_of_the_base_is_offered(void** state)
{
  rig r;
  (void)state;
  setups_open_tube(&r);
  setups_write("mine", "[tube-stage]\ndrive_db = 20\nbias_pc = 10\n");
  setups_write("yours", "from = mine.ini\n[tube-stage]\ndrive_db = base + 4\n");
  setups_load(&r, "setup", "yours");
  setups_host_moves(&r, "bias_pc", 12); // A difference that is to stay
  setups_write("mine", "[tube-stage]\ndrive_db = 22.5\nbias_pc = 10\n");
  assert_non_null(strstr(frame_said(r.f), "yours loaded"));
  rig_pass(&r, 2);
  assert_string_equal(frame_said(r.f), ""); // It would cover the question
  assert_true(rig_has_word(&r, "take over"));
  assert_float_equal(rig_value(&r, "drive_db"), 24, 0); // Not by itself
  setups_press(&r, "copy");
  assert_string_not_equal(frame_said(r.f), "");
  setups_press(&r, "take over");
  assert_float_equal(rig_value(&r, "drive_db"), 24, 0); // Nobody saw the word
  setups_press(&r, "take over");
  assert_float_equal(rig_value(&r, "drive_db"), 26.5, 0);
  assert_float_equal(rig_value(&r, "bias_pc"), 12, 0);
  assert_non_null(strstr(frame_said(r.f), "mine taken over: 1 control moved."));
  assert_false(rig_has_word(&r, "take over"));
  setups_press(&r, "undo");
  assert_float_equal(rig_value(&r, "drive_db"), 24, 0);
  rig_close(&r);
}

static void
a_change_may_be_left(void** state)
{
  rig r;
  (void)state;
  setups_open_tube(&r);
  setups_write("mine", "[tube-stage]\ndrive_db = 20\n");
  setups_load(&r, "setup", "mine");
  setups_write("mine", "[tube-stage]\ndrive_db = 2.5\n");
  rig_pass(&r, 2);
  setups_press(&r, "keep");
  assert_false(rig_has_word(&r, "take over"));
  assert_float_equal(rig_value(&r, "drive_db"), 20, 0);
  rig_pass(&r, 2);
  assert_false(rig_has_word(&r, "take over"));
  assert_true(rig_has_word(&r, "mine \xE2\x80\xA2")); // The file says otherwise
  rig_close(&r);
}

static void
a_change_elsewhere_is_no_news(void** state)
{
  rig r;
  (void)state;
  setups_open_tube(&r);
  setups_write("mine", "[tube-stage]\ndrive_db = 20\n");
  setups_load(&r, "setup", "mine");
  setups_write("mine", "; New\n[tube-stage]\ndrive_db = 20\n[air-shelf]\n");
  rig_pass(&r, 2);
  assert_false(rig_has_word(&r, "take over"));
  rig_close(&r);
}

static void
a_change_that_cannot_be_read_is_said(void** state)
{
  rig r;
  (void)state;
  setups_open_tube(&r);
  setups_write("mine", "[tube-stage]\ndrive_db = 20\n");
  setups_load(&r, "setup", "mine");
  setups_write("mine", "[tube-stage]\ndrive_db = 2000\n");
  rig_pass(&r, 2);
  assert_non_null(strstr(frame_said(r.f), "mine.ini:2: drive_db = 2000"));
  assert_false(rig_has_word(&r, "take over"));
  setups_write("mine", "[tube-stage]\ndrive_db = 21\n"); // And then it can
  rig_pass(&r, 2);
  assert_true(rig_has_word(&r, "take over"));
  rig_close(&r);
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(shipped_setups_with_this_stage_are_listed),
    cmocka_unit_test(the_bundle_holds_all_shipped_setups),
    cmocka_unit_test(loading_sets_the_stage_in_one_gesture),
    cmocka_unit_test(a_dot_follows_the_name_once_a_value_differs),
    cmocka_unit_test(defaults_set_all_but_the_track_s),
    cmocka_unit_test(saving_makes_a_setup_of_ones_own),
    cmocka_unit_test(a_name_can_be_typed),
    cmocka_unit_test(what_is_there_is_asked_for),
    cmocka_unit_test(saving_keeps_the_base_of_ones_own),
    cmocka_unit_test(what_is_broken_says_so_in_one_line),
    cmocka_unit_test(many_setups_come_page_by_page),
    cmocka_unit_test(a_change_of_the_base_is_offered),
    cmocka_unit_test(a_change_may_be_left),
    cmocka_unit_test(a_change_elsewhere_is_no_news),
    cmocka_unit_test(a_change_that_cannot_be_read_is_said),
  };
  return cmocka_run_group_tests_name("setup-menu", tests, setups_enter,
                                     setups_leave);
}
