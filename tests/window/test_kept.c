// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Memories and undo survive their window, under the mark of the instance

#include "marked_rig.h"

#include "plugins/window/follow/mark.h"
#include "plugins/window/past.h"

/// Values that a host keeps of a plugin while its window is closed
typedef struct {
  float value[PLAYING_PORTS];
} session;

static float
mark_of(const rig* r)
{
  return rig_value(r, "window_mark");
}

/// Closes a window; the host keeps its values
static void
close_into(rig* r, session* s)
{
  for (uint32_t i = 0; i < shell_param_count(r->form.plugin); ++i) {
    s->value[i] = frame_param(r->f, i);
  }
  rig_close(r);
}

static void
open_from(rig* r, const char* stem, const session* s)
{
  plugin_form form;
  assert_true(playing_find(stem, &form));
  rig_open_form(r, &form, s->value);
  rig_pass(r, 0.1);
  rig_clear(r);
}

/// Opens an instance without a mark, with A at 2 dB and B at 8 dB; B plays
static void
open_two(rig* r)
{
  marked_open(r, "air-shelf", 0);
  rig_set(r, "air_db", "2");
  rig_click_word(r, "B", false);
  rig_set(r, "air_db", "8");
}

static void
a_mark_is_drawn_with_the_first_gesture(void** state)
{
  static rig a;
  static rig b;
  (void)state;
  marked_open(&a, "air-shelf", 0);
  rig_pass(&a, 2);
  assert_true(mark_of(&a) == 0); // Looking changes no session
  rig_set(&a, "air_db", "2");
  assert_true(mark_of(&a) >= 1 && mark_of(&a) <= MARK_MOST);
  assert_true(mark_of(&a) == floorf(mark_of(&a)));
  marked_open(&b, "air-shelf", 0);
  rig_set(&b, "air_db", "2");
  assert_true(mark_of(&a) != mark_of(&b));
  rig_close(&a);
  rig_close(&b);
}

static void
they_survive_the_window(void** state)
{
  static rig     r;
  static session s;
  (void)state;
  open_two(&r);
  close_into(&r, &s);
  open_from(&r, "air-shelf", &s);
  assert_string_equal(r.log, "");
  rig_click_word(&r, "A", false);
  assert_true(rig_value(&r, "air_db") == 2);
  for (int i = 0; i < 4; ++i) { // Call, move, call, move
    rig_click_word(&r, "undo", false);
  }
  assert_true(rig_value(&r, "air_db") ==
              shell_param(r.form.plugin, rig_param(&r, "air_db"))->def);
  close_into(&r, &s); // What was undone can be done again
  open_from(&r, "air-shelf", &s);
  rig_click_word(&r, "redo", false);
  assert_true(rig_value(&r, "air_db") == 2);
  rig_close(&r);
}

static void
a_copied_track_starts_with_a_copy(void** state)
{
  static rig     a;
  static rig     b;
  static session s;
  (void)state;
  open_two(&a);
  for (uint32_t i = 0; i < shell_param_count(a.form.plugin); ++i) {
    s.value[i] = frame_param(a.f, i);
  }
  open_from(&b, "air-shelf", &s); // Both are open
  assert_true(mark_of(&b) != mark_of(&a));
  rig_click_word(&b, "A", false);
  assert_true(rig_value(&b, "air_db") == 2);
  rig_set(&b, "air_db", "5"); // Its own from here on
  rig_click_word(&a, "A", false);
  assert_true(rig_value(&a, "air_db") == 2);
  close_into(&b, &s);
  open_from(&b, "air-shelf", &s);
  rig_click_word(&b, "B", false);
  rig_click_word(&b, "A", false);
  assert_true(rig_value(&b, "air_db") == 5);
  rig_close(&a);
  rig_close(&b);
}

static void
other_forms_do_not_share(void** state)
{
  static rig     a;
  static rig     b;
  static session s;
  (void)state;
  open_two(&a);
  const float mark = mark_of(&a);
  close_into(&a, &s);
  marked_open(&b, "air-shelf-stereo", mark);
  rig_clear(&b);
  rig_click_word(&b, "undo", false);
  rig_click_word(&b, "B", false);
  assert_string_equal(b.log, "");
  rig_close(&b);
}

static void
a_blind_one_is_told_by_closing(void** state)
{
  static rig     r;
  static session s;
  (void)state;
  open_two(&r);
  rig_click_word(&r, "blind", false);
  close_into(&r, &s);
  open_from(&r, "air-shelf", &s);
  const bool plays_b = rig_value(&r, "air_db") == 8;
  rig_click_word(&r, plays_b ? "A" : "B", false);
  assert_true(rig_value(&r, "air_db") == (plays_b ? 2 : 8));
  rig_close(&r);
}

/// More than are kept: the first to be closed are forgotten
static void
memory_is_bounded(void** state)
{
  enum { N = PAST_CLOSED + 8 };
  static rig     r;
  static session s[N];
  uint32_t       n_kept = 0;
  (void)state;
  for (int i = 0; i < N; ++i) {
    open_two(&r);
    close_into(&r, &s[i]);
  }
  for (int i = N - 1; i >= 0; --i) { // The youngest first
    open_from(&r, "air-shelf", &s[i]);
    rig_click_word(&r, "A", false);
    const bool is_kept = rig_value(&r, "air_db") == 2;
    assert_true(is_kept == (i >= N - PAST_CLOSED));
    n_kept += is_kept;
    if (!is_kept) {
      rig_close(&r);
      break;
    }
    close_into(&r, &s[i]);
  }
  assert_int_equal(n_kept, PAST_CLOSED);
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(a_mark_is_drawn_with_the_first_gesture),
    cmocka_unit_test(they_survive_the_window),
    cmocka_unit_test(a_copied_track_starts_with_a_copy),
    cmocka_unit_test(other_forms_do_not_share),
    cmocka_unit_test(a_blind_one_is_told_by_closing),
    cmocka_unit_test(memory_is_bounded),
  };
  return cmocka_run_group_tests_name("kept", tests, NULL, NULL);
}
