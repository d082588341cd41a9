// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// A against B at equal loudness: the trim moves by the difference of what is
/// measured, not before that has settled, and goes back

#include "marked_rig.h"

/// B is 6 dB softer than A by nature
#define A_DB 2.0
#define B_DB (-4.0)

typedef struct {
  rig    r;
  double nature_db; ///< Loudness of output against input, without the trim
} listener;

static int
open_two(void** state)
{
  static listener l;
  static float    mark = 1000; // Each has a past of its own
  memset(&l, 0, sizeof(l));
  l.nature_db = A_DB;
  marked_open(&l.r, "input-compressor", ++mark);
  marked_meter(&l.r, "in_db", -18);
  *state = &l;
  return 0;
}

static int
close_two(void** state)
{
  listener* const l = *state;
  rig_close(&l->r);
  return 0;
}

static double
trim(const listener* l)
{
  return (double)rig_value(&l->r, "trim_db");
}

/// Plays, with the meter that the plugin would have
static void
play(listener* l, double seconds)
{
  for (double left = seconds; left > 0; left -= 0.1) {
    marked_meter(&l->r, "match_db", (float)(l->nature_db + trim(l)));
    rig_pass(&l->r, 0.1);
  }
}

static void
call(listener* l, const char* letter)
{
  l->nature_db = *letter == 'A' ? A_DB : B_DB;
  rig_click_word(&l->r, letter, false);
}

/// Makes B other than A, with equal loudness on
static void
make_b(listener* l)
{
  rig_click_word(&l->r, "equal loudness", false);
  play(l, 5);
  call(l, "B");
  rig_focus(&l->r, "threshold_db");
  (void)rig_key(&l->r, KEY_HOME, false);
}

static void
it_waits_until_both_are_known(void** state)
{
  listener* const l = *state;
  make_b(l);
  play(l, 2);
  assert_true(trim(l) == 0);
  play(l, 3);
  assert_near(trim(l), A_DB - B_DB, 1e-6);
  rig_clear(&l->r);
  call(l, "A");
  assert_true(trim(l) == 0);
  call(l, "B"); // At once
  assert_near(trim(l), A_DB - B_DB, 1e-6);
}

static void
a_figure_that_wanders_moves_nothing(void** state)
{
  listener* const l = *state;
  make_b(l);
  for (int i = 0; i < 100; ++i) { // 10 s
    l->nature_db = B_DB + 0.05 * i;
    play(l, 0.1);
  }
  assert_true(trim(l) == 0);
  play(l, 2);
  assert_near(trim(l), A_DB - l->nature_db, 1e-5);
  const double settled_db = trim(l);
  l->nature_db -= 1; // Only the next call takes it
  play(l, 10);
  assert_true(trim(l) == settled_db);
}

/// A change of B does not throw away what was known: the next call plays by the
/// last figure until the new one has settled
static void
a_change_keeps_the_last_figure_for_now(void** state)
{
  listener* const l = *state;
  make_b(l);
  play(l, 5);
  (void)rig_key(&l->r, KEY_UP, false);
  l->nature_db = B_DB + 1;
  play(l, 1);
  call(l, "A");
  play(l, 5);
  rig_click_word(&l->r, "B", false);
  l->nature_db = B_DB + 1;
  assert_near(trim(l), A_DB - B_DB, 1e-6);
  play(l, 5);
  assert_near(trim(l), A_DB - B_DB - 1, 1e-6);
}

static void
silence_and_bypass_do_not_count(void** state)
{
  listener* const l = *state;
  make_b(l);
  marked_meter(&l->r, "in_db", -90);
  play(l, 10);
  assert_true(trim(l) == 0);
  marked_meter(&l->r, "in_db", -18);
  frame_take_param(l->r.f, rig_param(&l->r, "enabled"), 0);
  play(l, 10);
  assert_true(trim(l) == 0);
  frame_take_param(l->r.f, rig_param(&l->r, "enabled"), 1);
  play(l, 5);
  assert_near(trim(l), A_DB - B_DB, 1e-6);
}

static void
unticking_puts_the_trim_back(void** state)
{
  listener* const l = *state;
  make_b(l);
  play(l, 5);
  rig_clear(&l->r);
  rig_click_word(&l->r, "equal loudness", false);
  assert_string_equal(l->r.log, "+match_bypass match_bypass=0 -match_bypass "
                                "+trim_db trim_db=0 -trim_db ");
  call(l, "A");
  call(l, "B");
  assert_true(trim(l) == 0);
}

static void
closing_puts_the_trim_back(void** state)
{
  static listener l;
  (void)state;
  l.nature_db = A_DB;
  marked_open(&l.r, "input-compressor", 4321);
  marked_meter(&l.r, "in_db", -18);
  make_b(&l);
  play(&l, 5);
  rig_clear(&l.r);
  rig_close(&l.r);
  assert_string_equal(l.r.log, "+trim_db trim_db=0 -trim_db ");
}

static void
own_trims_are_kept(void** state)
{
  listener* const l = *state;
  rig_focus(&l->r, "trim_db");
  rig_type(&l->r, "-3");
  (void)rig_key(&l->r, KEY_ENTER, false);
  make_b(l);
  play(l, 5);
  assert_near(trim(l), A_DB - 3 - B_DB, 1e-6); // As loud as A with its trim
  rig_click_word(&l->r, "undo", false); // The threshold of B: measures anew
  assert_near(trim(l), A_DB - 3 - B_DB, 1e-6);
  l->nature_db = A_DB; // B is A again
  play(l, 5);
  assert_near(trim(l), -3, 1e-6);
  l->nature_db = B_DB;
  rig_click_word(&l->r, "redo", false);
  play(l, 5);
  assert_near(trim(l), A_DB - 3 - B_DB, 1e-6);
  rig_click_word(&l->r, "equal loudness", false);
  assert_near(trim(l), -3, 1e-6);
}

static void
the_hand_takes_the_trim_over(void** state)
{
  listener* const l = *state;
  make_b(l);
  play(l, 5);
  rig_focus(&l->r, "trim_db");
  rig_type(&l->r, "-1");
  (void)rig_key(&l->r, KEY_ENTER, false);
  play(l, 5);
  assert_true(trim(l) == -1);
  rig_click_word(&l->r, "undo", false); // Back to B's own, for comparing
  assert_near(trim(l), A_DB - B_DB, 1e-6);
  rig_click_word(&l->r, "redo", false);
  rig_click_word(&l->r, "equal loudness", false);
  assert_true(trim(l) == -1);
}

static void
what_the_host_moves_stays(void** state)
{
  listener* const l = *state;
  make_b(l);
  play(l, 5);
  frame_take_param(l->r.f, rig_param(&l->r, "trim_db"), 6.0001F); // An echo
  rig_pass(&l->r, 0.5);
  frame_take_param(l->r.f, rig_param(&l->r, "trim_db"), 9); // Automation
  rig_pass(&l->r, 0.5);
  rig_clear(&l->r);
  rig_click_word(&l->r, "equal loudness", false);
  assert_string_equal(l->r.log, "+match_bypass match_bypass=0 -match_bypass ");
}

static void
undo_of_the_call_plays_as_it_was(void** state)
{
  listener* const l = *state;
  make_b(l);
  play(l, 5);
  call(l, "A");
  assert_true(trim(l) == 0);
  rig_click_word(&l->r, "undo", false);
  assert_near(trim(l), A_DB - B_DB, 1e-6);
}

static void
the_trim_is_held_in_its_range(void** state)
{
  listener* const l = *state;
  rig_click_word(&l->r, "equal loudness", false);
  play(l, 5);
  call(l, "B");
  rig_focus(&l->r, "threshold_db");
  (void)rig_key(&l->r, KEY_HOME, false);
  l->nature_db = A_DB - 60;
  play(l, 5);
  assert_true(trim(l) == 24);
}

#define ON_TWO(test) cmocka_unit_test_setup_teardown(test, open_two, close_two)

int
main(void)
{
  const struct CMUnitTest tests[] = {
    ON_TWO(it_waits_until_both_are_known),
    ON_TWO(a_figure_that_wanders_moves_nothing),
    ON_TWO(a_change_keeps_the_last_figure_for_now),
    ON_TWO(silence_and_bypass_do_not_count),
    ON_TWO(unticking_puts_the_trim_back),
    cmocka_unit_test(closing_puts_the_trim_back),
    ON_TWO(own_trims_are_kept),
    ON_TWO(the_hand_takes_the_trim_over),
    ON_TWO(what_the_host_moves_stays),
    ON_TWO(undo_of_the_call_plays_as_it_was),
    ON_TWO(the_trim_is_held_in_its_range),
  };
  return cmocka_run_group_tests_name("compare-memories", tests, NULL, NULL);
}
