// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// A and B: what they hold, how they are called up, and that undo goes across

#include "marked_rig.h"

static void
b_starts_as_a_copy_of_a(void** state)
{
  rig* const r = *state;
  rig_click_word(r, "B", false);
  assert_string_equal(r->log, "");
  rig_set(r, "threshold_db", "-30");
  rig_clear(r);
  rig_click_word(r, "A", false);
  assert_string_equal(r->log, "+threshold_db threshold_db=-14 -threshold_db ");
  rig_clear(r);
  rig_click_word(r, "A", false); // Plays already
  assert_string_equal(r->log, "");
  rig_click_word(r, "B", false);
  assert_string_equal(r->log, "+threshold_db threshold_db=-30 -threshold_db ");
}

static void
undo_goes_across(void** state)
{
  rig* const r = *state;
  rig_set(r, "threshold_db", "-20");
  rig_set(r, "ratio", "5");
  rig_click_word(r, "B", false);
  rig_set(r, "threshold_db", "-40");
  rig_click_word(r, "A", false);
  assert_true(rig_value(r, "threshold_db") == -20);
  rig_click_word(r, "undo", false); // The call
  assert_true(rig_value(r, "threshold_db") == -40);
  rig_click_word(r, "undo", false);
  assert_true(rig_value(r, "threshold_db") == -20);
  rig_click_word(r, "undo", false); // The first call: nothing differed
  rig_click_word(r, "undo", false);
  assert_true(rig_value(r, "ratio") == 3);
  rig_click_word(r, "undo", false);
  assert_true(rig_value(r, "threshold_db") == -14);
  for (int i = 0; i < 5; ++i) {
    rig_click_word(r, "redo", false);
  }
  assert_true(rig_value(r, "threshold_db") == -20);
  assert_true(rig_value(r, "ratio") == 5);
  rig_click_word(r, "B", false);
  assert_true(rig_value(r, "threshold_db") == -40);
}

static void
shift_copies(void** state)
{
  rig* const r = *state;
  rig_click_word(r, "B", false);
  rig_set(r, "threshold_db", "-40");
  rig_set(r, "trim_db", "3");
  rig_clear(r);
  rig_click_word(r, "B", true); // Itself
  rig_click_word(r, "A", true);
  rig_click_word(r, "A", false);
  assert_string_equal(r->log, ""); // Alike: A is -40, and plays
  rig_set(r, "threshold_db", "-10");
  rig_click_word(r, "undo", false);
  rig_click_word(r, "undo", false); // The call of A
  rig_click_word(r, "undo", false); // The copy
  rig_clear(r);
  rig_click_word(r, "A", false);
  assert_string_equal(r->log, "+trim_db trim_db=0 -trim_db "
                              "+threshold_db threshold_db=-14 "
                              "-threshold_db ");
}

static void
keys_do_it_too(void** state)
{
  rig* const r = *state;
  assert_true(rig_ctrl(r, 'b', false)); // B
  rig_set(r, "threshold_db", "-20");
  assert_true(rig_ctrl(r, 'b', false)); // A
  assert_true(rig_value(r, "threshold_db") == -14);
  assert_true(rig_ctrl(r, 'b', true)); // Copies A to B
  assert_true(rig_ctrl(r, 'b', false));
  assert_true(rig_value(r, "threshold_db") == -14);
  assert_true(rig_ctrl(r, 'z', false)); // The call
  assert_true(rig_ctrl(r, 'z', false)); // The copy
  assert_true(rig_ctrl(r, 'b', false));
  assert_true(rig_value(r, "threshold_db") == -20);
  assert_true(rig_ctrl(r, 'b', false));
  // By the words: Tab from the left
  rig_click(r, 2, 300);
  assert_true(rig_key(r, KEY_TAB, false)); // on off
  assert_true(rig_key(r, KEY_TAB, false)); // A
  assert_true(rig_key(r, KEY_TAB, false)); // B
  assert_true(rig_key(r, KEY_ENTER, false));
  assert_true(rig_value(r, "threshold_db") == -20);
  assert_true(rig_key(r, KEY_BACK_TAB, false));
  assert_true(rig_key(r, KEY_ENTER, true)); // Shift: copies B to A
  assert_true(rig_key(r, KEY_ENTER, false));
  assert_true(rig_value(r, "threshold_db") == -20);
}

static bool
is_held(const plugin* p, uint32_t i)
{
  const char* const symbol = shell_param(p, i)->symbol;
  return !strcmp(symbol, "trim_db") ||
         (shell_param_is_stages(p, i) && strcmp(symbol, "gain_db") != 0);
}

static void
they_hold_the_stage_and_not_the_track(void** state)
{
  const plugin* p = NULL;
  (void)state;
  for (uint32_t n = 0; (p = shell_plugin(n)); ++n) {
    static rig r;
    marked_open(&r, p->stem, 0);
    const plugin* const q = r.form.plugin;
    assert_true(rig_ctrl(&r, 'b', false));
    rig_pass(&r, 1);
    for (uint32_t i = 0; i < shell_param_count(q); ++i) {
      const param_info* const info = shell_param(q, i);
      frame_take_param(r.f, i, info->def == info->max ? info->min : info->max);
    }
    rig_clear(&r);
    assert_true(rig_ctrl(&r, 'b', false));
    for (uint32_t i = 0; i < shell_param_count(q); ++i) {
      const param_info* const info = shell_param(q, i);
      char                    text[128];
      (void)snprintf(text, sizeof(text), "+%s %s=%g -%s ", info->symbol,
                     info->symbol, (double)info->def, info->symbol);
      if ((strstr(r.log, text) != NULL) != is_held(q, i)) {
        fail_msg("%s: %s", p->stem, info->symbol);
      }
    }
    rig_close(&r);
  }
}

static void
a_trim_that_goes_down_goes_first(void** state)
{
  rig* const r = *state;
  rig_click_word(r, "B", false);
  rig_set(r, "trim_db", "-6");
  rig_set(r, "threshold_db", "-20");
  rig_clear(r);
  rig_click_word(r, "A", false); // Louder: last
  assert_string_equal(r->log, "+threshold_db threshold_db=-14 -threshold_db "
                              "+trim_db trim_db=0 -trim_db ");
  rig_clear(r);
  rig_click_word(r, "B", false);
  assert_string_equal(r->log, "+trim_db trim_db=-6 -trim_db "
                              "+threshold_db threshold_db=-20 "
                              "-threshold_db ");
}

static void
a_call_ends_a_drag(void** state)
{
  rig* const r = *state;
  double     x = 0;
  double     w = 0;
  double     y = 0;
  assert_true(rig_ctrl(r, 'b', false)); // B is made
  rig_scale(r, "knee_db", &x, &w, &y);
  rig_event(r, EVENT_PRESS, x, y);
  rig_event(r, EVENT_MOVE, x + 0.25 * w, y);
  assert_true(rig_ctrl(r, 'b', false));
  assert_true(rig_value(r, "knee_db") == 3);
  rig_event(r, EVENT_RELEASE, x + 0.25 * w, y);
  assert_true(rig_ctrl(r, 'b', false));
  assert_near((double)rig_value(r, "knee_db"), 9, 0.051);
}

#define ON_COMPRESSOR(test) \
  cmocka_unit_test_setup_teardown(test, marked_enter, marked_leave)

int
main(void)
{
  const struct CMUnitTest tests[] = {
    ON_COMPRESSOR(b_starts_as_a_copy_of_a),
    ON_COMPRESSOR(undo_goes_across),
    ON_COMPRESSOR(shift_copies),
    ON_COMPRESSOR(keys_do_it_too),
    cmocka_unit_test(they_hold_the_stage_and_not_the_track),
    ON_COMPRESSOR(a_trim_that_goes_down_goes_first),
    ON_COMPRESSOR(a_call_ends_a_drag),
  };
  return cmocka_run_group_tests_name("memories", tests, NULL, NULL);
}
