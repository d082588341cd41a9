// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// The menu of a row, by the pointer and by keys

#include "marked_rig.h"

/// By the pointer
static void
open_menu(rig* r, const char* symbol)
{
  double x = 0;
  double w = 0;
  double y = 0;
  rig_scale(r, symbol, &x, &w, &y);
  rig_event(r, EVENT_MENU, x, y);
}

static void
default_is_one_gesture(void** state)
{
  rig* const r = *state;
  rig_set(r, "threshold_db", "-40");
  rig_clear(r);
  open_menu(r, "threshold_db");
  rig_click_word(r, "default", false);
  assert_string_equal(r->log, "+threshold_db threshold_db=-14 -threshold_db ");
  assert_false(rig_has_word(r, "default")); // Closed
}

static void
type_opens_the_field(void** state)
{
  rig* const r = *state;
  open_menu(r, "knee_db");
  rig_click_word(r, "type", false);
  rig_type(r, "6");
  assert_true(rig_key(r, KEY_ENTER, false));
  assert_true(rig_value(r, "knee_db") == 6);
  open_menu(r, "timing"); // Words are not typed
  assert_true(rig_has_word(r, "copy value"));
  assert_false(rig_has_word(r, "type"));
}

static void
values_are_copied_as_shown(void** state)
{
  static const char* const cases[][3] = {
    {"threshold_db", "-31.5", "-31.5 dB"},
    {"ratio", "4", "4.0"},
    {"attack_ms", "25", "25 ms"},
  };
  rig* const r = *state;
  for (size_t i = 0; i < sizeof(cases) / sizeof(cases[0]); ++i) {
    rig_set(r, cases[i][0], cases[i][1]);
    open_menu(r, cases[i][0]);
    rig_click_word(r, "copy value", false);
    assert_string_equal(r->copied, cases[i][2]);
  }
  open_menu(r, "timing");
  rig_click_word(r, "copy value", false);
  assert_string_equal(r->copied, "programme");
}

static void
one_control_is_undone_alone(void** state)
{
  rig* const r = *state;
  rig_set(r, "threshold_db", "-20");
  rig_set(r, "threshold_db", "-40");
  rig_set(r, "ratio", "5");
  rig_clear(r);
  open_menu(r, "threshold_db");
  rig_click_word(r, "undo this one", false);
  assert_string_equal(r->log, "+threshold_db threshold_db=-20 -threshold_db ");
  assert_true(rig_value(r, "ratio") == 5);
  rig_click_word(r, "undo", false); // That was a gesture too
  assert_true(rig_value(r, "threshold_db") == -40);
  rig_clear(r);
  open_menu(r, "knee_db"); // Never moved
  rig_click_word(r, "undo this one", false);
  assert_string_equal(r->log, "");
}

static void
keys_open_walk_and_close(void** state)
{
  rig* const r = *state;
  rig_set(r, "threshold_db", "-40");
  rig_focus(r, "threshold_db");
  rig_clear(r);
  assert_true(rig_key(r, KEY_MENU, false));
  assert_true(rig_has_word(r, "default"));
  assert_int_equal(frame_focus_param(r->f), -1); // The menu has the keys
  assert_true(rig_key(r, KEY_ESCAPE, false));
  assert_false(rig_has_word(r, "default"));
  assert_int_equal(frame_focus_param(r->f), rig_param(r, "threshold_db"));
  assert_true(rig_key(r, KEY_MENU, false));
  for (int i = 0; i < 3; ++i) {
    assert_true(rig_key(r, KEY_DOWN, false));
  }
  assert_true(rig_key(r, KEY_ENTER, false)); // undo this one
  assert_string_equal(r->log, "+threshold_db threshold_db=-14 -threshold_db ");
  assert_true(rig_key(r, KEY_MENU, false));
  assert_true(rig_key(r, KEY_UP, false)); // Round: the last
  assert_true(rig_key(r, KEY_UP, false));
  assert_true(rig_key(r, KEY_ENTER, false));
  assert_string_equal(r->copied, "-14.0 dB");
  assert_int_equal(frame_focus_param(r->f), rig_param(r, "threshold_db"));
}

static void
a_press_elsewhere_only_closes(void** state)
{
  rig* const r = *state;
  double     x = 0;
  double     w = 0;
  double     y = 0;
  open_menu(r, "threshold_db");
  rig_scale(r, "release_ms", &x, &w, &y);
  rig_click(r, x, y);
  assert_false(rig_has_word(r, "default"));
  open_menu(r, "threshold_db");
  open_menu(r, "knee_db"); // The other button too
  assert_false(rig_has_word(r, "default"));
  rig_event(r, EVENT_MENU, 2, 300); // Nothing is there
  assert_false(rig_has_word(r, "default"));
  assert_string_equal(r->log, "");
}

/// Each menu of each row lies on the sheet
static void
menus_stay_on_the_sheet(void** state)
{
  const plugin* p = NULL;
  (void)state;
  for (uint32_t n = 0; (p = shell_plugin(n)); ++n) {
    static rig r;
    rig_open(&r, p->stem);
    for (uint32_t i = 0; i < shell_param_count(p); ++i) {
      double x0 = 0;
      double x1 = 0;
      double y  = 0;
      if (!strcmp(shell_param(p, i)->symbol, "enabled") ||
          !strcmp(shell_param(p, i)->symbol, "match_bypass") ||
          !frame_scale_of(r.f, i, &x0, &x1, &y)) {
        continue;
      }
      rig_event(&r, EVENT_MENU, x0 + 5, y);
      assert_true(frame_word_of(r.f, "undo this one", &x0, &y));
      assert_in_range(x0, 10, FRAME_WIDTH - 120);
      assert_in_range(y, 40, FRAME_HEIGHT - 10);
      assert_true(frame_word_of(r.f, "default", &x0, &y));
      assert_in_range(y, 40, FRAME_HEIGHT - 10);
      (void)rig_paint(&r);
      assert_true(rig_key(&r, KEY_ESCAPE, false));
    }
    rig_close(&r);
  }
}

#define ON_COMPRESSOR(test) \
  cmocka_unit_test_setup_teardown(test, marked_enter, marked_leave)

int
main(void)
{
  const struct CMUnitTest tests[] = {
    ON_COMPRESSOR(default_is_one_gesture),
    ON_COMPRESSOR(type_opens_the_field),
    ON_COMPRESSOR(values_are_copied_as_shown),
    ON_COMPRESSOR(one_control_is_undone_alone),
    ON_COMPRESSOR(keys_open_walk_and_close),
    ON_COMPRESSOR(a_press_elsewhere_only_closes),
    cmocka_unit_test(menus_stay_on_the_sheet),
  };
  return cmocka_run_group_tests_name("row-menu", tests, NULL, NULL);
}
