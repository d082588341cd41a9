// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Pointer, wheel and keys on the sheet: the right control moves by the right
/// amount, and the host hears it as one gesture

#include "window_rig.h"

static int
open_compressor(void** state)
{
  static rig r;
  rig_open(&r, "input-compressor");
  *state = &r;
  return 0;
}

static int
close_rig(void** state)
{
  rig_close(*state);
  return 0;
}

static void
clear(rig* r)
{
  r->log[0] = '\0';
}

static void
a_press_alone_writes_nothing(void** state)
{
  rig* const r = *state;
  double     x = 0;
  double     w = 0;
  double     y = 0;
  rig_scale(r, "threshold_db", &x, &w, &y);
  rig_click(r, x, y);
  assert_string_equal(r->log, "");
}

static void
a_drag_moves_by_its_way(void** state)
{
  rig* const r = *state;
  double     x = 0;
  double     w = 0;
  double     y = 0;
  rig_scale(r, "threshold_db", &x, &w, &y);
  rig_event(r, EVENT_PRESS, x, y);
  rig_event(r, EVENT_MOVE, x - 0.1 * w, y); // A tenth of 60 dB
  rig_event(r, EVENT_MOVE, x - 0.2 * w, y);
  rig_event(r, EVENT_RELEASE, x - 0.2 * w, y);
  assert_near((double)rig_value(r, "threshold_db"), -14 - 12, 0.051);
  assert_string_equal(r->log, "+threshold_db threshold_db=-20 "
                              "threshold_db=-26 -threshold_db ");
}

static void
shift_drags_a_tenth(void** state)
{
  rig* const   r = *state;
  double       x = 0;
  double       w = 0;
  double       y = 0;
  window_event e = {.kind = EVENT_MOVE, .shift = true};
  rig_scale(r, "threshold_db", &x, &w, &y);
  rig_event(r, EVENT_PRESS, x, y);
  e.x = x + 0.5 * w;
  e.y = y;
  (void)frame_event(r->f, &e);
  rig_event(r, EVENT_RELEASE, x + 0.5 * w, y);
  assert_near((double)rig_value(r, "threshold_db"), -14 + 3, 0.051);
}

static void
a_drag_is_held_at_the_end(void** state)
{
  rig* const r = *state;
  double     x = 0;
  double     w = 0;
  double     y = 0;
  rig_scale(r, "knee_db", &x, &w, &y);
  rig_event(r, EVENT_PRESS, x, y);
  rig_event(r, EVENT_MOVE, x - 5 * w, y);
  assert_true(rig_value(r, "knee_db") == 0);
  rig_event(r, EVENT_MOVE, x - 5 * w + 0.5 * w, y); // Turns at once
  rig_event(r, EVENT_RELEASE, x, y);
  assert_near((double)rig_value(r, "knee_db"), 12, 0.051);
}

static void
log_scales_drag_by_ratio(void** state)
{
  rig* const r = *state;
  double     x = 0;
  double     w = 0;
  double     y = 0;
  rig_scale(r, "ratio", &x, &w, &y);
  rig_event(r, EVENT_PRESS, x, y);
  rig_event(r, EVENT_MOVE, x + 0.25 * w, y);
  rig_event(r, EVENT_RELEASE, x + 0.25 * w, y);
  assert_near((double)rig_value(r, "ratio"), 3 * pow(20, 0.25), 0.051);
}

static void
double_click_is_the_default(void** state)
{
  rig* const r = *state;
  double     x = 0;
  double     w = 0;
  double     y = 0;
  frame_take_param(r->f, rig_param(r, "threshold_db"), -40);
  rig_scale(r, "threshold_db", &x, &w, &y);
  rig_click(r, x, y);
  rig_click(r, x, y);
  assert_true(rig_value(r, "threshold_db") == -14);
  assert_string_equal(r->log, "+threshold_db threshold_db=-14 -threshold_db ");
}

static void
the_wheel_is_one_gesture_until_it_rests(void** state)
{
  rig* const   r = *state;
  double       w = 0;
  window_event e = {.kind = EVENT_WHEEL, .wheel = 1};
  rig_scale(r, "threshold_db", &e.x, &w, &e.y);
  (void)frame_event(r->f, &e);
  rig_pass(r, 0.1);
  (void)frame_event(r->f, &e);
  assert_string_equal(r->log,
                      "+threshold_db threshold_db=-13.5 threshold_db=-13 ");
  rig_pass(r, 0.4);
  assert_string_equal(r->log, "+threshold_db threshold_db=-13.5 "
                              "threshold_db=-13 -threshold_db ");
}

static void
keys_step(void** state)
{
  rig* const r = *state;
  rig_focus(r, "threshold_db");
  assert_true(rig_key(r, KEY_UP, false));
  assert_near((double)rig_value(r, "threshold_db"), -13.5, 1e-6);
  assert_true(rig_key(r, KEY_LEFT, true));
  assert_near((double)rig_value(r, "threshold_db"), -13.6, 1e-6);
  assert_true(rig_key(r, KEY_PAGE_DOWN, false));
  assert_near((double)rig_value(r, "threshold_db"), -18.6, 1e-5);
  assert_true(rig_key(r, KEY_HOME, false));
  assert_true(rig_value(r, "threshold_db") == -60);
  assert_true(rig_key(r, KEY_END, false));
  assert_true(rig_value(r, "threshold_db") == 0);
  assert_true(rig_key(r, KEY_DELETE, false));
  assert_true(rig_value(r, "threshold_db") == -14);
}

static void
typing_takes_and_leaves(void** state)
{
  rig* const r = *state;
  rig_focus(r, "threshold_db");
  rig_type(r, "-30,25");
  assert_string_equal(r->log, "");
  assert_true(rig_key(r, KEY_ENTER, false));
  assert_true(rig_value(r, "threshold_db") == -30.25F);
  assert_string_equal(r->log,
                      "+threshold_db threshold_db=-30.25 -threshold_db ");
  clear(r);
  rig_type(r, "-9");
  assert_true(rig_key(r, KEY_ESCAPE, false));
  assert_string_equal(r->log, "");
  rig_type(r, "+4");
  assert_true(rig_key(r, KEY_TAB, false)); // Leaving the field takes
  assert_near((double)rig_value(r, "threshold_db"), -26.25, 1e-6);
  assert_int_equal(frame_focus_param(r->f), rig_param(r, "ratio"));
}

static void
typing_opens_by_a_click_on_the_figure(void** state)
{
  rig* const r = *state;
  double     x = 0;
  double     y = 0;
  assert_true(frame_figure_of(r->f, rig_param(r, "knee_db"), &x, &y));
  rig_click(r, x, y);
  rig_type(r, "6"); // Replaces what stands there
  assert_true(rig_key(r, KEY_ENTER, false));
  assert_true(rig_value(r, "knee_db") == 6);
}

static void
nonsense_is_not_taken(void** state)
{
  rig* const r = *state;
  rig_focus(r, "knee_db");
  rig_type(r, "1.2.3");
  assert_true(rig_key(r, KEY_ENTER, false));
  assert_string_equal(r->log, "");
}

static void
foreign_keys_go_back(void** state)
{
  rig* const   r = *state;
  window_event e = {.kind = EVENT_KEY, .key = KEY_TEXT, .text = ' '};
  assert_false(frame_event(r->f, &e)); // Transport of the host
  rig_focus(r, "knee_db");
  assert_false(frame_event(r->f, &e));
  e.text = 'r';
  assert_false(frame_event(r->f, &e));
  e.key = KEY_OTHER;
  assert_false(frame_event(r->f, &e));
}

static void
choices_are_clicked_and_stepped(void** state)
{
  rig* const r = *state;
  double     x = 0;
  double     y = 0;
  assert_true(frame_choice_of(r->f, rig_param(r, "timing"), 1, &x, &y));
  rig_click(r, x, y);
  assert_string_equal(r->log, "+timing timing=1 -timing ");
  assert_int_equal(frame_focus_param(r->f), rig_param(r, "timing"));
  assert_true(rig_key(r, KEY_LEFT, false));
  assert_true(rig_value(r, "timing") == 0);
}

static void
tab_reaches_every_control(void** state)
{
  rig* const r        = *state;
  bool       seen[64] = {false};
  for (int i = 0; i < 60; ++i) {
    assert_true(rig_key(r, KEY_TAB, false));
    const int p = frame_focus_param(r->f);
    if (p >= 0) {
      seen[p] = true;
    }
  }
  for (uint32_t i = 0; i < shell_param_count(r->form.plugin); ++i) {
    double x = 0;
    double y = 0;
    if (!seen[i] && frame_figure_of(r->f, i, &x, &y)) {
      fail_msg("Tab does not reach %s", shell_param(r->form.plugin, i)->symbol);
    }
  }
  const int at = frame_focus_param(r->f);
  assert_true(rig_key(r, KEY_TAB, false));
  assert_true(rig_key(r, KEY_BACK_TAB, false));
  assert_int_equal(frame_focus_param(r->f), at);
}

static void
click_word(rig* r, const char* word)
{
  double x = 0;
  double y = 0;
  assert_true(frame_word_of(r->f, word, &x, &y));
  rig_click(r, x, y);
  rig_pass(r, 0.5);
}

static void
undo_takes_back_gesture_by_gesture(void** state)
{
  rig* const r = *state;
  rig_focus(r, "threshold_db");
  (void)rig_key(r, KEY_UP, false);
  (void)rig_key(r, KEY_UP, false);
  rig_focus(r, "knee_db");
  (void)rig_key(r, KEY_END, false);
  click_word(r, "undo");
  assert_true(rig_value(r, "knee_db") == 3);
  assert_near((double)rig_value(r, "threshold_db"), -13, 1e-6);
  click_word(r, "undo");
  assert_near((double)rig_value(r, "threshold_db"), -13.5, 1e-6);
  click_word(r, "redo");
  assert_near((double)rig_value(r, "threshold_db"), -13, 1e-6);
  click_word(r, "redo");
  assert_true(rig_value(r, "knee_db") == 24);
  clear(r);
  click_word(r, "redo"); // Nothing is left
  assert_string_equal(r->log, "");
}

static void
undo_keeps_64_gestures(void** state)
{
  rig* const r = *state;
  rig_focus(r, "threshold_db");
  (void)rig_key(r, KEY_HOME, false);
  for (int i = 0; i < 80; ++i) {
    (void)rig_key(r, KEY_UP, false);
  }
  for (int i = 0; i < 100; ++i) {
    click_word(r, "undo");
  }
  // The oldest 17 of 81 gestures are forgotten: 16 steps stay
  assert_near((double)rig_value(r, "threshold_db"), -60 + 16 * 0.5, 1e-5);
}

static void
the_hand_beats_its_echo(void** state)
{
  rig* const     r = *state;
  const uint32_t p = rig_param(r, "threshold_db");
  double         x = 0;
  double         w = 0;
  double         y = 0;
  rig_scale(r, "threshold_db", &x, &w, &y);
  rig_event(r, EVENT_PRESS, x, y);
  rig_event(r, EVENT_MOVE, x + 0.1 * w, y);
  frame_take_param(r->f, p, -14); // Late
  assert_near((double)rig_value(r, "threshold_db"), -8, 0.051);
  rig_event(r, EVENT_RELEASE, x + 0.1 * w, y);
  frame_take_param(r->f, p, -10); // Later still
  assert_near((double)rig_value(r, "threshold_db"), -8, 0.051);
  frame_take_param(r->f, p, -8);
  rig_pass(r, 0.5);
  assert_near((double)rig_value(r, "threshold_db"), -8, 0.051);
  frame_take_param(r->f, p, -30); // Automation
  assert_true(rig_value(r, "threshold_db") == -30);
}

static void
the_host_may_say_anything(void** state)
{
  rig* const     r = *state;
  const uint32_t p = rig_param(r, "threshold_db");
  frame_take_param(r->f, p, NAN);
  assert_true(rig_value(r, "threshold_db") == -14);
  frame_take_param(r->f, p, 1e9F);
  assert_true(rig_value(r, "threshold_db") == 0);
  frame_take_param(r->f, 5000, 1);
  frame_take_meter(r->f, 5000, 1);
  frame_take_meter(r->f, 0, INFINITY);
  rig_pass(r, 0.1);
  (void)rig_paint(r);
}

static void
match_takes_the_change_off_once_it_is_known(void** state)
{
  rig* const r = *state;
  frame_take_meter(r->f, 0, -18);
  frame_take_meter(r->f, 2, 2.5F); // change_db
  click_word(r, "match");
  assert_string_equal(r->log, ""); // Not yet counted
  rig_pass(r, 3.2);
  click_word(r, "match");
  assert_string_equal(r->log, "+trim_db trim_db=-2.5 -trim_db ");
  clear(r);
  click_word(r, "match"); // Counts anew
  assert_string_equal(r->log, "");
}

static void
on_and_off_are_words(void** state)
{
  rig* const r = *state;
  double     x = 0;
  double     y = 0;
  assert_true(frame_choice_of(r->f, rig_param(r, "enabled"), 0, &x, &y));
  rig_click(r, x, y);
  assert_string_equal(r->log, "+enabled enabled=0 -enabled ");
  (void)rig_paint(r);
}

static void
equal_loudness_is_a_box(void** state)
{
  rig* const r = *state;
  click_word(r, "equal loudness");
  assert_string_equal(r->log, "+match_bypass match_bypass=1 -match_bypass ");
}

static void
handles_are_second_grips(void** state)
{
  rig* const r = *state;
  double     x = 0;
  double     y = 0;
  rig_settle(r);
  (void)rig_paint(r);
  assert_true(frame_handle_of(r->f, 0, &x, &y)); // The threshold
  rig_event(r, EVENT_PRESS, x, y);
  rig_event(r, EVENT_MOVE, x - 20, y);
  rig_event(r, EVENT_RELEASE, x - 20, y);
  (void)rig_paint(r);
  // It stays under the pointer
  double x1 = 0;
  assert_true(frame_handle_of(r->f, 0, &x1, &y));
  assert_near(x1, x - 20, 0.6);
  assert_true(strncmp(r->log, "+threshold_db ", 14) == 0);
  assert_int_equal(frame_focus_param(r->f), rig_param(r, "threshold_db"));
  const window_event e = {
    .kind = EVENT_WHEEL, .x = x1, .y = y, .wheel = 1, .ctrl = true};
  (void)frame_event(r->f, &e);
  assert_near((double)rig_value(r, "knee_db"), 3.5, 1e-6);
}

static void
closing_lets_go(void** state)
{
  rig    r;
  double x = 0;
  double w = 0;
  double y = 0;
  (void)state;
  rig_open(&r, "tube-stage");
  rig_scale(&r, "drive_db", &x, &w, &y);
  rig_event(&r, EVENT_PRESS, x, y);
  rig_event(&r, EVENT_MOVE, x + 0.1 * w, y);
  rig_close(&r);
  assert_string_equal(r.log, "+drive_db drive_db=24 -drive_db ");
}

#define ON_COMPRESSOR(test) \
  cmocka_unit_test_setup_teardown(test, open_compressor, close_rig)

int
main(void)
{
  const struct CMUnitTest tests[] = {
    ON_COMPRESSOR(a_press_alone_writes_nothing),
    ON_COMPRESSOR(a_drag_moves_by_its_way),
    ON_COMPRESSOR(shift_drags_a_tenth),
    ON_COMPRESSOR(a_drag_is_held_at_the_end),
    ON_COMPRESSOR(log_scales_drag_by_ratio),
    ON_COMPRESSOR(double_click_is_the_default),
    ON_COMPRESSOR(the_wheel_is_one_gesture_until_it_rests),
    ON_COMPRESSOR(keys_step),
    ON_COMPRESSOR(typing_takes_and_leaves),
    ON_COMPRESSOR(typing_opens_by_a_click_on_the_figure),
    ON_COMPRESSOR(nonsense_is_not_taken),
    ON_COMPRESSOR(foreign_keys_go_back),
    ON_COMPRESSOR(choices_are_clicked_and_stepped),
    ON_COMPRESSOR(tab_reaches_every_control),
    ON_COMPRESSOR(undo_takes_back_gesture_by_gesture),
    ON_COMPRESSOR(undo_keeps_64_gestures),
    ON_COMPRESSOR(the_hand_beats_its_echo),
    ON_COMPRESSOR(the_host_may_say_anything),
    ON_COMPRESSOR(match_takes_the_change_off_once_it_is_known),
    ON_COMPRESSOR(on_and_off_are_words),
    ON_COMPRESSOR(equal_loudness_is_a_box),
    ON_COMPRESSOR(handles_are_second_grips),
    cmocka_unit_test(closing_lets_go),
  };
  return cmocka_run_group_tests_name("frame", tests, NULL, NULL);
}
