// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Groups as the hand meets them: the menu, marks on rows, what leads and what
/// does not, a window that is behind

#include "window_rig.h"

#include <stdlib.h>

static rig rhythm, lead;

static void
click_word(rig* r, const char* word)
{
  double x = 0;
  double y = 0;
  if (!frame_word_of(r->f, word, &x, &y)) {
    fail_msg("no word \"%s\"", word);
  }
  rig_click(r, x, y);
}

/// A tube stage on each of two tracks, which hear each other; the lead's has
/// 6 dB more drive
static void
open_both(void)
{
  rig_open(&rhythm, "tube-stage");
  rig_open(&lead, "tube-stage");
  frame_take_param(lead.f, rig_param(&lead, "drive_db"), 24);
  rhythm.hearers[rhythm.n_hearers++] = &rhythm;
  rhythm.hearers[rhythm.n_hearers++] = &lead;
  lead.hearers[lead.n_hearers++]     = &rhythm;
  lead.hearers[lead.n_hearers++]     = &lead;
  rig_pass(&rhythm, 0.5);
  rig_pass(&lead, 0.5);
}

static void
join(rig* r)
{
  click_word(r, "group");
  click_word(r, "join P");
  rig_pass(r, 0.5);
}

static void
close_both(void)
{
  rhythm.n_hearers = lead.n_hearers = 0;
  rig_close(&rhythm);
  rig_close(&lead);
}

/// Drags a control's scale by a share of its width
static void
drag(rig* r, const char* symbol, double by, bool is_ctrl)
{
  double x0 = 0;
  double x1 = 0;
  double y  = 0;
  assert_true(frame_scale_of(r->f, rig_param(r, symbol), &x0, &x1, &y));
  rig_event(r, EVENT_PRESS, x0 + 5, y);
  for (int i = 1; i <= 4; ++i) {
    const window_event e = {.kind   = EVENT_MOVE,
                            .x      = x0 + 5 + by * (x1 - x0) * i / 4,
                            .y      = y,
                            .time_s = r->now_s,
                            .ctrl   = is_ctrl};
    frame_event(r->f, &e);
    rig_pass(r, 0.05);
  }
  rig_event(r, EVENT_RELEASE, x0 + 5 + by * (x1 - x0), y);
  rig_pass(r, 0.3);
}

static void
two_windows_move_together(void** state)
{
  (void)state;
  open_both();
  join(&rhythm);
  assert_true(rig_has_word(&rhythm, "group P"));
  join(&lead);
  rhythm.log[0] = lead.log[0] = '\0';
  drag(&rhythm, "drive_db", 0.1, false); // 6 of 60 dB
  const float to = rig_value(&rhythm, "drive_db");
  assert_near((double)to, 24.0, 0.3);
  assert_near((double)rig_value(&lead, "drive_db"), (double)to + 6.0, 1e-3);
  // One touch at both, and nothing else was told to the host
  assert_int_equal(strncmp(lead.log, "+drive_db drive_db=", 19), 0);
  assert_non_null(strstr(lead.log, "-drive_db "));
  assert_null(strstr(strstr(lead.log, "-drive_db "), "+"));

  drag(&lead, "drive_db", -0.05, false);
  assert_near((double)rig_value(&lead, "drive_db") -
                (double)rig_value(&rhythm, "drive_db"),
              6.0, 1e-3);
  close_both();
}

static void
undo_leads_too(void** state)
{
  (void)state;
  open_both();
  join(&rhythm);
  join(&lead);
  drag(&rhythm, "drive_db", 0.1, false);
  click_word(&rhythm, "undo");
  assert_float_equal(rig_value(&rhythm, "drive_db"), 18, 0);
  assert_near((double)rig_value(&lead, "drive_db"), 24, 1e-4);
  click_word(&rhythm, "redo");
  assert_near((double)rig_value(&lead, "drive_db") -
                (double)rig_value(&rhythm, "drive_db"),
              6, 1e-4);
  close_both();
}

static void
ctrl_leaves_the_others_alone(void** state)
{
  (void)state;
  open_both();
  join(&rhythm);
  join(&lead);
  drag(&rhythm, "drive_db", 0.1, true);
  assert_float_equal(rig_value(&lead, "drive_db"), 24, 0);
  const float now = rig_value(&rhythm, "drive_db");
  click_word(&rhythm, "undo"); // Alone as well
  assert_float_equal(rig_value(&rhythm, "drive_db"), 18, 0);
  assert_float_equal(rig_value(&lead, "drive_db"), 24, 0);
  click_word(&rhythm, "redo");
  assert_float_equal(rig_value(&rhythm, "drive_db"), now, 0);
  // The difference is another one now, and is kept
  drag(&rhythm, "drive_db", 0.05, false);
  assert_near((double)rig_value(&lead, "drive_db") - 24,
              (double)rig_value(&rhythm, "drive_db") - (double)now, 1e-3);
  close_both();
}

static void
what_sets_a_whole_sheet_leads_nobody(void** state)
{
  (void)state;
  static const char text[] = "[tube-stage]\ndrive_db = 30\nsag_pc = 80\n";
  open_both();
  join(&rhythm);
  join(&lead);
  frame_paste(rhythm.f, text, strlen(text), NULL);
  assert_float_equal(rig_value(&rhythm, "drive_db"), 30, 0);
  assert_float_equal(rig_value(&lead, "drive_db"), 24, 0);
  // Memories: B is A's copy; changing it leads, calling A up does not
  click_word(&rhythm, "B");
  drag(&rhythm, "drive_db", 0.05, false);
  const float followed = rig_value(&lead, "drive_db");
  assert_true(followed > 24);
  click_word(&rhythm, "A");
  assert_float_equal(rig_value(&rhythm, "drive_db"), 30, 0);
  assert_float_equal(rig_value(&lead, "drive_db"), followed, 0);
  close_both();
}

/// The host's window closes and opens again, with the values that it has kept
static void
reopen(rig* r)
{
  float       values[PLAYING_PORTS];
  rig         past = *r;
  plugin_form form = r->form;
  for (uint32_t i = 0; i < shell_param_count(form.plugin); ++i) {
    values[i] = frame_param(r->f, i);
  }
  for (rig* other = &rhythm; other; other = other == &rhythm ? &lead : NULL) {
    other->n_hearers = 0;
  }
  rig_close(r);
  rig_open_form(r, &form, values);
  memcpy(r->hearers, past.hearers, sizeof(r->hearers));
  rhythm.hearers[0] = lead.hearers[0] = &rhythm;
  rhythm.hearers[1] = lead.hearers[1] = &lead;
}

static void
a_closed_window_says_that_it_is_behind(void** state)
{
  (void)state;
  open_both();
  join(&rhythm);
  join(&lead);
  rhythm.n_hearers = 0; // The lead's window is closed
  drag(&rhythm, "drive_db", 0.1, false);
  const double by = (double)rig_value(&rhythm, "drive_db") - 18;
  assert_float_equal(rig_value(&lead, "drive_db"), 24, 0);

  reopen(&lead);
  assert_false(rig_has_word(&lead, "catch up"));
  rig_pass(&lead, 0.5);
  assert_true(rig_has_word(&lead, "catch up"));
  assert_true(rig_has_word(&lead, "keep"));
  char said[64];
  (void)snprintf(said, sizeof(said), "Drive is %.1f dB behind group P", by);
  assert_int_equal(strncmp(frame_question(lead.f), said, strlen(said)), 0);
  lead.log[0] = '\0';
  click_word(&lead, "catch up");
  assert_near((double)rig_value(&lead, "drive_db"), 24 + by, 1e-3);
  assert_int_equal(strncmp(lead.log, "+drive_db drive_db=", 19), 0);
  assert_false(rig_has_word(&lead, "catch up"));

  // Saved, closed and opened, it is still with them
  reopen(&lead);
  rig_pass(&lead, 0.5);
  assert_false(rig_has_word(&lead, "catch up"));
  close_both();
}

/// Both in a group; the rhythm's drive moves while the lead's window is closed
static void
fall_behind(void)
{
  open_both();
  join(&rhythm);
  join(&lead);
  rhythm.n_hearers = 0;
  drag(&rhythm, "drive_db", 0.1, false);
  reopen(&lead);
  rig_pass(&lead, 0.5);
}

static void
keeping_is_remembered(void** state)
{
  (void)state;
  fall_behind();
  click_word(&lead, "keep");
  assert_float_equal(rig_value(&lead, "drive_db"), 24, 0);
  reopen(&lead);
  rig_pass(&lead, 0.5);
  assert_false(rig_has_word(&lead, "catch up"));
  close_both();
}

/// The line of help, as drawn
static void
copy_help(rig* r, unsigned char* copy)
{
  enum { LINES = 28, BYTES = 760 * 4 };
  const platform_pixels p = rig_paint(r);
  assert_int_equal(p.width, 760);
  for (int i = 0; i < LINES; ++i) {
    memcpy(copy + (size_t)i * BYTES,
           p.data + (size_t)(p.height - LINES + i) * (size_t)p.stride, BYTES);
  }
}

/// The pointer still stands where the answer was
static void
an_answer_that_was_given_explains_nothing(void** state)
{
  static unsigned char under[28 * 760 * 4];
  static unsigned char away[28 * 760 * 4];
  double               x = 0;
  double               y = 0;
  (void)state;
  fall_behind();
  click_word(&lead, "group P"); // Leaves items behind those of the sheet
  rig_paint(&lead);
  rig_key(&lead, KEY_ESCAPE, false);
  assert_true(frame_word_of(lead.f, "catch up", &x, &y));
  rig_event(&lead, EVENT_MOVE, x, y);
  rig_click(&lead, x, y);
  rig_pass(&lead, 2);
  copy_help(&lead, under);
  rig_event(&lead, EVENT_LEAVE, 0, 0);
  copy_help(&lead, away);
  assert_memory_equal(under, away, sizeof(away));
  close_both();
}

static void
a_row_can_be_left_alone(void** state)
{
  (void)state;
  open_both();
  join(&rhythm);
  join(&lead);
  double x = 0;
  double y = 0;
  assert_true(frame_figure_of(lead.f, rig_param(&lead, "drive_db"), &x, &y));
  rig_event(&lead, EVENT_MENU, x - 60, y);
  click_word(&lead, "out of the group");
  drag(&rhythm, "drive_db", 0.1, false);
  assert_float_equal(rig_value(&lead, "drive_db"), 24, 0);
  drag(&rhythm, "bright_db", 0.1, false);
  assert_near((double)rig_value(&lead, "bright_db"),
              (double)rig_value(&rhythm, "bright_db"), 1e-4);
  close_both();
}

static void
leaving_ends_it(void** state)
{
  (void)state;
  open_both();
  join(&rhythm);
  join(&lead);
  click_word(&lead, "group P");
  click_word(&lead, "leave the group");
  assert_true(rig_has_word(&lead, "group"));
  drag(&rhythm, "drive_db", 0.1, false);
  assert_float_equal(rig_value(&lead, "drive_db"), 24, 0);
  assert_float_equal(rig_value(&lead, "group"), 0, 0);
  close_both();
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(two_windows_move_together),
    cmocka_unit_test(undo_leads_too),
    cmocka_unit_test(ctrl_leaves_the_others_alone),
    cmocka_unit_test(what_sets_a_whole_sheet_leads_nobody),
    cmocka_unit_test(a_closed_window_says_that_it_is_behind),
    cmocka_unit_test(keeping_is_remembered),
    cmocka_unit_test(an_answer_that_was_given_explains_nothing),
    cmocka_unit_test(a_row_can_be_left_alone),
    cmocka_unit_test(leaving_ends_it),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
