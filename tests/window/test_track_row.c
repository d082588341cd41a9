// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// A row of windows is compared as a whole: who answers, how fast, what stays
/// off, who is not meant

#include "row_rig.h"

/// Row 3 of a song, and of another one
#define ROW_HERE  (4711U << 3U | 2U)
#define ROW_THERE (815U << 3U | 2U)

/// Opens the seven windows of a track, which plays: the meters say so
static void
open_track(seat* first, uint32_t row)
{
  for (int i = 0; i < ROW_STAGES; ++i) {
    seat_insert(&first[i], row_stems[i], row);
    seat_open(&first[i]);
  }
  row_pass(0.5);
}

/// The host plays: level in and loudness change
static void
let_play(const seat* s)
{
  const uint32_t n = shell_param_count(s->form.plugin);
  frame_take_meter(s->f, seat_port(s, "in_db") - n, -18);
  frame_take_meter(s->f, seat_port(s, "match_db") - n, 1.5F);
}

static void
all_play(const seat* first)
{
  for (int i = 0; i < ROW_STAGES; ++i) {
    let_play(&first[i]);
  }
}

static float
enabled(const seat* s)
{
  return s->value[seat_port(s, "enabled")];
}

static void
clear_logs(void)
{
  for (seat* s = seats; s < seats + ROW_SEATS; ++s) {
    s->log[0] = '\0';
  }
}

/// Brings a row of seven to the untreated sound
static void
to_untreated(void)
{
  open_track(seats, ROW_HERE);
  all_play(seats);
  seat_key(&seats[2]);
  row_pass(6);
  assert_string_equal(frame_said(seats[2].f), "7 of 7 windows: untreated");
}

static void
it_measures_first(void** state)
{
  (void)state;
  row_setup();
  open_track(seats, ROW_HERE);
  let_play(&seats[0]);
  let_play(&seats[1]);
  let_play(&seats[2]);
  seat_key(&seats[2]);
  row_pass(0.2);
  for (int i = 0; i < ROW_STAGES; ++i) {
    assert_string_equal(seats[i].log,
                        "+match_bypass match_bypass=1 -match_bypass ");
  }
  assert_string_equal(frame_said(seats[2].f), "measuring: 0 of 7 ready");
  row_pass(5);
  assert_string_equal(frame_said(seats[2].f), "measuring: 3 of 7 ready");
  all_play(seats);
  row_pass(3);
  assert_float_equal(enabled(&seats[0]), 1, 0); // Heard for 3 s only
  row_pass(1.5);
  assert_string_equal(frame_said(seats[2].f), "7 of 7 windows: untreated");
  for (int i = 0; i < ROW_STAGES; ++i) {
    assert_non_null(strstr(seats[i].log, " +enabled enabled=0 -enabled "));
    assert_float_equal(enabled(&seats[i]), 0, 0);
  }
  row_close();
}

/// The design's figure, by the clock of windows that look 30 times a second
static void
it_turns_within_100_ms(void** state)
{
  (void)state;
  row_setup();
  to_untreated();
  for (int turn = 0; turn < 4; ++turn) {
    const bool   back = turn % 2 == 0;
    const double from = row_now_s;
    seat* const  who  = &seats[turn];
    int          n    = 0;
    clear_logs();
    seat_key(who);
    while (n < ROW_STAGES || !frame_said(who->f)[0]) {
      row_pass(ROW_LOOK_S);
      assert_true(row_now_s - from < 0.1);
      for (n = 0; n < ROW_STAGES && enabled(&seats[n]) == (float)back;) {
        ++n;
      }
    }
    assert_string_equal(frame_said(who->f), back ? "7 of 7 windows: treated"
                                                 : "7 of 7 windows: untreated");
    for (int i = 0; i < ROW_STAGES; ++i) {
      assert_string_equal(seats[i].log, back ? "+enabled enabled=1 -enabled "
                                             : "+enabled enabled=0 -enabled ");
    }
  }
  row_close();
}

static void
what_was_off_stays_off(void** state)
{
  (void)state;
  row_setup();
  for (int i = 0; i < ROW_STAGES; ++i) {
    seat_insert(&seats[i], row_stems[i], ROW_HERE);
    seats[i].value[0] = i == 4 ? 0 : 1;
    seat_open(&seats[i]);
  }
  row_pass(0.5);
  all_play(seats);
  seat_key(&seats[0]);
  row_pass(6);
  assert_string_equal(frame_said(seats[0].f), "7 of 7 windows: untreated");
  seat_key(&seats[0]);
  row_pass(0.2);
  assert_string_equal(frame_said(seats[0].f), "7 of 7 windows: treated");
  for (int i = 0; i < ROW_STAGES; ++i) {
    assert_float_equal(enabled(&seats[i]), i == 4 ? 0 : 1, 0);
  }
  assert_null(strstr(seats[4].log, "enabled=1"));
  row_close();
}

static void
a_closed_window_puts_its_stage_back(void** state)
{
  (void)state;
  row_setup();
  to_untreated();
  seat_close(&seats[5]);
  assert_float_equal(enabled(&seats[5]), 1, 0);
  row_pass(0.1);
  seat_key(&seats[2]);
  row_pass(0.2);
  assert_string_equal(frame_said(seats[2].f), "6 of 6 windows: treated");
  // Opened again, it is measured before it counts
  seat_open(&seats[5]);
  row_pass(0.5);
  let_play(&seats[5]);
  seat_key(&seats[2]);
  row_pass(0.2);
  assert_string_equal(frame_said(seats[2].f), "measuring: 6 of 7 ready");
  row_pass(5);
  assert_string_equal(frame_said(seats[2].f), "7 of 7 windows: untreated");
  row_close();
}

static void
a_window_that_does_not_answer_is_not_counted(void** state)
{
  (void)state;
  row_setup();
  to_untreated();
  seats[6].is_deaf = true;
  seat_key(&seats[2]);
  row_pass(0.2);
  assert_string_equal(frame_said(seats[2].f), "6 of 7 windows: treated");
  seats[6].is_deaf = false; // Late
  row_pass(0.2);
  assert_string_equal(frame_said(seats[2].f), "7 of 7 windows: treated");
  assert_float_equal(enabled(&seats[6]), 1, 0);
  // Silent for longer, it is gone
  seats[6].is_deaf = true;
  seat_key(&seats[2]);
  row_pass(2);
  seat_key(&seats[2]);
  row_pass(0.2);
  assert_string_equal(frame_said(seats[2].f), "6 of 6 windows: treated");
  seats[6].is_deaf = false;
  row_pass(0.2);
  assert_float_equal(enabled(&seats[6]), 1, 0);
  row_close();
}

static void
a_control_that_moves_is_heard_anew(void** state)
{
  (void)state;
  row_setup();
  to_untreated();
  seat_key(&seats[2]);
  row_pass(0.5);
  frame_take_param(seats[2].f, seat_port(&seats[2], "drive_db"), 30);
  row_pass(0.3);
  seat_key(&seats[0]);
  row_pass(0.2);
  assert_string_equal(frame_said(seats[0].f), "measuring: 6 of 7 ready");
  assert_float_equal(enabled(&seats[0]), 1, 0);
  seat_key(&seats[0]); // Gives up
  row_pass(6);
  assert_float_equal(enabled(&seats[0]), 1, 0);
  row_close();
}

static void
two_songs_do_not_hear_each_other(void** state)
{
  (void)state;
  row_setup();
  open_track(seats + ROW_STAGES, ROW_THERE);
  to_untreated();
  row_pass(2);
  for (int i = ROW_STAGES; i < 2 * ROW_STAGES; ++i) {
    assert_string_equal(seats[i].log, "");
  }
  row_close();
}

/// A message that one of ours could be, or that anybody sends
static window_message
say_to_row(message_kind kind, uint32_t song, uint32_t number, int32_t b)
{
  const message m = {.kind   = kind,
                     .song   = song,
                     .sender = 99,
                     .group  = number - 1,
                     .a      = 5,
                     .b      = b};
  return message_pack(&m);
}

static void
hostile_messages_move_nothing(void** state)
{
  (void)state;
  row_setup();
  open_track(seats, ROW_HERE);
  const window_message bad[] = {
    say_to_row(MESSAGE_ROW_TURN, 4711, 4, 1),  // Another number
    say_to_row(MESSAGE_ROW_TURN, 815, 3, 1),   // Another song
    say_to_row(MESSAGE_ROW_TURN, 0, 3, 1),     // No song
    say_to_row(MESSAGE_ROW_TURN, 4711, 3, 2),  // Out of range
    say_to_row(MESSAGE_ROW_TURN, 4711, 3, -1), //
    say_to_row(MESSAGE_ROW_HERE, 4711, 3, 4),  //
    say_to_row(MESSAGE_ROW_HERE, 4711, 3, -1), //
    say_to_row(MESSAGE_ROW_CALL, 815, 3, 1),   //
    say_to_row(MESSAGE_KINDS, 4711, 3, 1),     // None of ours
    {{0xFFFFFFFF, 0xFFFFFFFF, 0xFFFFFFFF, 0xFFFFFFFF, 0xFFFFFFFF}},
  };
  for (size_t i = 0; i < sizeof(bad) / sizeof(bad[0]); ++i) {
    seat_say(NULL, &bad[i]);
    row_pass(0.2);
  }
  uint32_t random = 1;
  for (int i = 0; i < 100000; ++i) { // Anything but the mark of the row
    window_message w;
    for (int k = 0; k < 5; ++k) {
      w.word[k] =
        (uint32_t)((1.0 + (double)check_noise(&random)) * 2147483647.0);
    }
    if ((w.word[0] & 0xFFFFFFU) != 4711) {
      frame_take_message(seats[i % ROW_STAGES].f, &w);
    }
    n_said = 0;
  }
  // Windows that there are not: more than there is room for
  for (uint32_t i = 0; i < 200; ++i) {
    window_message w = say_to_row(MESSAGE_ROW_HERE, 4711, 3, 0);
    w.word[1] += i;
    frame_take_message(seats[0].f, &w);
  }
  row_pass(0.5);
  for (int i = 0; i < ROW_STAGES; ++i) {
    assert_string_equal(seats[i].log, "");
  }
  // They are forgotten, and do not keep the row from being compared
  all_play(seats);
  seat_key(&seats[0]);
  row_pass(8);
  assert_string_equal(frame_said(seats[0].f), "7 of 7 windows: untreated");
  row_close();
}

static void
click(const seat* s, double x, double y)
{
  const window_event e = {
    .kind = EVENT_PRESS, .x = x, .y = y, .time_s = row_now_s};
  const window_event up = {
    .kind = EVENT_RELEASE, .x = x, .y = y, .time_s = row_now_s};
  (void)frame_event(s->f, &e);
  (void)frame_event(s->f, &up);
  row_pass(0.6);
}

static void
click_word(const seat* s, const char* word)
{
  double x = 0;
  double y = 0;
  if (!frame_word_of(s->f, word, &x, &y)) {
    fail_msg("no word \"%s\"", word);
  }
  click(s, x, y);
}

/// Chooses a number in the menu, 0 for off
static void
choose(const seat* s, uint32_t number)
{
  double x = 0;
  double y = 0;
  click_word(s, "group");
  assert_true(frame_menu_choice_of(s->f, "number of the row", number, &x, &y));
  click(s, x, y);
  click_word(s, "group"); // Closes it
}

static uint32_t
row_value(const seat* s)
{
  return (uint32_t)s->value[seat_port(s, "row")];
}

static bool
has_word(const seat* s, const char* word)
{
  double x = 0;
  double y = 0;
  return frame_word_of(s->f, word, &x, &y);
}

static void
the_menu_chooses_the_row(void** state)
{
  (void)state;
  row_setup();
  open_track(seats, 0);
  assert_false(has_word(&seats[0], "row"));
  choose(&seats[0], 5);
  assert_true(has_word(&seats[0], "row"));
  const uint32_t value = row_value(&seats[0]);
  assert_int_equal(value & 7U, 4);
  assert_true(value > 8);
  // The others come to the same row, even once its window has closed
  seat_close(&seats[0]);
  choose(&seats[1], 5);
  assert_int_equal(row_value(&seats[1]), value);
  choose(&seats[2], 6);
  assert_int_not_equal(row_value(&seats[2]) >> 3U, value >> 3U);
  choose(&seats[1], 0);
  assert_int_equal(row_value(&seats[1]), 0);
  assert_false(has_word(&seats[1], "row"));
  row_close();
}

/// Where a host runs windows in processes of their own, the menu offers the row
static void
a_row_of_another_process_is_offered(void** state)
{
  (void)state;
  row_setup();
  open_track(seats, 0);
  const window_message here = say_to_row(MESSAGE_ROW_HERE, 1234, 7, 0);
  click_word(&seats[0], "group");
  seat_say(NULL, &here);
  row_pass(0.2);
  click_word(&seats[0], "enter row 7");
  assert_int_equal(row_value(&seats[0]), 1234U << 3U | 6U);
  assert_true(has_word(&seats[0], "row"));
  row_close();
}

static void
the_word_does_what_the_key_does(void** state)
{
  (void)state;
  row_setup();
  to_untreated();
  click_word(&seats[4], "row");
  assert_string_equal(frame_said(seats[4].f), "7 of 7 windows: treated");
  assert_float_equal(enabled(&seats[6]), 1, 0);
  row_close();
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(it_measures_first),
    cmocka_unit_test(it_turns_within_100_ms),
    cmocka_unit_test(what_was_off_stays_off),
    cmocka_unit_test(a_closed_window_puts_its_stage_back),
    cmocka_unit_test(a_window_that_does_not_answer_is_not_counted),
    cmocka_unit_test(a_control_that_moves_is_heard_anew),
    cmocka_unit_test(two_songs_do_not_hear_each_other),
    cmocka_unit_test(hostile_messages_move_nothing),
    cmocka_unit_test(the_menu_chooses_the_row),
    cmocka_unit_test(a_row_of_another_process_is_offered),
    cmocka_unit_test(the_word_does_what_the_key_does),
  };
  return cmocka_run_group_tests_name("track-row", tests, NULL, NULL);
}
