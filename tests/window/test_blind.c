// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// A blind comparison: by lot, without a trace on the sheet, told at the end

#include "marked_rig.h"

#include "plugins/window/controls/chance.h"

enum { DRAWS = 64 };

/// Opens one whose B is other than A; A plays
static void
open_two(rig* r, const char* stem, const char* symbol)
{
  marked_open(r, stem, 0);
  marked_meter(r, "in_db", -18);
  rig_click_word(r, "B", false);
  rig_focus(r, symbol);
  (void)rig_key(r, KEY_END, false);
  rig_click_word(r, "A", false);
  rig_click(r, 2, 300); // The keys are with none
  rig_pass(r, 1);
  rig_clear(r);
}

static bool
plays_a(const rig* r, const char* symbol)
{
  const uint32_t p = rig_param(r, symbol);
  return frame_param(r->f, p) != shell_param(r->form.plugin, p)->max;
}

static size_t
size_of(const platform_pixels* p)
{
  return (size_t)p->stride * (size_t)p->height;
}

/// Meters as the plugin would have them: B is other than A
static void
play(rig* r, const char* symbol)
{
  const float by = plays_a(r, symbol) ? 0 : 7;
  for (uint32_t i = 0; i < shell_meter_count(r->form.plugin); ++i) {
    const char* const symbol_of = shell_meter(r->form.plugin, i)->symbol;
    if (!strcmp(symbol_of, "latency_frames")) { // In the line of help
      frame_take_meter(r->f, i, 40 + by);
    } else if (strcmp(symbol_of, "in_db") != 0) {
      frame_take_meter(r->f, i, -20 + by);
    }
  }
  for (int i = 0; i < 20; ++i) {
    rig_pass(r, 0.2);
    (void)rig_paint(r);
  }
}

static void
click(rig* r, double x, double y)
{
  rig_event(r, EVENT_MOVE, x, y);
  rig_click(r, x, y);
}

/// Draws until `wants_a` plays as 1, and copies the picture
static unsigned char*
picture_of_1(const char* stem, const char* symbol, bool wants_a, size_t* size)
{
  static rig r;
  open_two(&r, stem, symbol);
  rig_click_word(&r, "blind", false);
  for (int i = 0; plays_a(&r, symbol) != wants_a; ++i) {
    assert_true(i < DRAWS); // One in 2^64
    rig_click_word(&r, "tell", false);
    rig_click_word(&r, "blind", false);
  }
  click(&r, 2, 300);
  rig_settle(&r);
  play(&r, symbol);
  const platform_pixels p      = rig_paint(&r);
  unsigned char* const  pixels = malloc(size_of(&p));
  assert_non_null(pixels);
  *size = size_of(&p);
  memcpy(pixels, p.data, *size);
  rig_close(&r);
  return pixels;
}

static void
the_sheet_gives_nothing_away(void** state)
{
  static const char* const cases[][2] = {
    {"input-compressor", "threshold_db"},
    {"di-cleanup", "body_db"},
    {"tube-stage", "quality"}, // Another latency
    {"tube-stage", "trim_db"},
    {"proximity-lift", "pattern"},
    {"room-send", "volume_m3"},
    {"bus-leveler", "makeup"}};
  (void)state;
  for (size_t i = 0; i < sizeof(cases) / sizeof(cases[0]); ++i) {
    size_t               n = 0;
    size_t               m = 0;
    unsigned char* const a = picture_of_1(cases[i][0], cases[i][1], true, &n);
    unsigned char* const b = picture_of_1(cases[i][0], cases[i][1], false, &m);
    assert_int_equal(n, m);
    if (memcmp(a, b, n) != 0) {
      fail_msg("%s, %s: it can be seen", cases[i][0], cases[i][1]);
    }
    free(a);
    free(b);
  }
}

/// The same as seen: only the bar below 1 or 2 moves
static void
swapping_moves_only_the_bar(void** state)
{
  static rig r;
  int        left = FRAME_WIDTH;
  int        last = 0;
  (void)state;
  open_two(&r, "air-shelf", "air_db");
  rig_settle(&r);
  rig_click_word(&r, "blind", false);
  click(&r, 2, 300);
  platform_pixels      p      = rig_paint(&r);
  const size_t         stride = (size_t)p.stride;
  unsigned char* const before = malloc(size_of(&p));
  assert_non_null(before);
  memcpy(before, p.data, size_of(&p));
  assert_true(rig_ctrl(&r, 'b', false));
  rig_settle(&r);
  p = rig_paint(&r);
  for (int y = 0; y < p.height; ++y) {
    for (int x = 0; x < p.width; ++x) {
      const size_t at = (size_t)y * stride + 4UL * (size_t)x;
      if (memcmp(before + at, p.data + at, 4) != 0) {
        assert_in_range(y, 5, 36);
        left = x < left ? x : left;
        last = x > last ? x : last;
      }
    }
  }
  assert_in_range(last - left, 10, 45);
  free(before);
  rig_close(&r);
}

static void
the_lot_is_drawn_anew(void** state)
{
  static rig r;
  uint32_t   n_a   = 0;
  uint32_t   n_one = 0;
  (void)state;
  for (int i = 0; i < DRAWS; ++i) {
    n_one += chance_bits() & 1U;
  }
  assert_in_range(n_one, 8, DRAWS - 8); // Six standard deviations
  open_two(&r, "air-shelf", "air_db");
  for (int i = 0; i < DRAWS; ++i) {
    rig_click_word(&r, "blind", false);
    n_a += plays_a(&r, "air_db");
    rig_click_word(&r, "tell", false);
  }
  assert_in_range(n_a, 8, DRAWS - 8);
  rig_close(&r);
}

static void
one_and_two_are_a_and_b(void** state)
{
  static rig r;
  (void)state;
  open_two(&r, "air-shelf", "air_db");
  rig_click_word(&r, "blind", false);
  const bool one = plays_a(&r, "air_db");
  rig_click_word(&r, "2", false);
  assert_true(plays_a(&r, "air_db") != one);
  rig_click_word(&r, "2", false);
  assert_true(plays_a(&r, "air_db") != one);
  rig_click_word(&r, "1", true); // Copies nothing
  assert_true(plays_a(&r, "air_db") == one);
  assert_true(rig_ctrl(&r, 'b', true));
  assert_true(plays_a(&r, "air_db") != one);
  rig_click_word(&r, "tell", false);
  assert_string_equal(frame_said(r.f), one ? "1 was A, 2 was B.  B plays."
                                           : "1 was B, 2 was A.  A plays.");
  assert_true(rig_has_word(&r, "A"));
  assert_false(rig_has_word(&r, "1"));
  rig_click(&r, 2, 300);
  assert_string_equal(frame_said(r.f), "");
  rig_close(&r);
}

static void
it_is_one_step_of_undo(void** state)
{
  static rig r;
  (void)state;
  open_two(&r, "air-shelf", "air_db");
  for (int i = 0; i < 2; ++i) { // Ends on A, then on B
    rig_click_word(&r, "blind", false);
    while (plays_a(&r, "air_db") != (i == 0)) {
      assert_true(rig_ctrl(&r, 'b', false));
    }
    rig_clear(&r);
    assert_true(rig_ctrl(&r, 'z', false)); // Not now
    assert_string_equal(r.log, "");
    rig_click_word(&r, "tell", false);
  }
  assert_false(plays_a(&r, "air_db"));
  assert_true(rig_ctrl(&r, 'z', false));
  assert_true(plays_a(&r, "air_db"));
  assert_true(rig_ctrl(&r, 'z', false)); // The call of A before
  assert_false(plays_a(&r, "air_db"));
  rig_close(&r);
}

static void
nothing_else_moves_meanwhile(void** state)
{
  static rig r;
  double     x0 = 0;
  double     x1 = 0;
  double     y  = 0;
  (void)state;
  open_two(&r, "air-shelf", "air_db");
  rig_settle(&r);
  (void)rig_paint(&r);
  assert_true(frame_scale_of(r.f, rig_param(&r, "air_hz"), &x0, &x1, &y));
  rig_click_word(&r, "blind", false);
  rig_clear(&r);
  (void)rig_paint(&r);
  assert_false(frame_handle_of(r.f, 0, &x0, &y));
  rig_event(&r, EVENT_PRESS, x1 - 30, y);
  rig_event(&r, EVENT_MOVE, x1 - 60, y);
  rig_event(&r, EVENT_RELEASE, x1 - 60, y);
  rig_event(&r, EVENT_MENU, x1 - 60, y);
  const window_event wheel = {.kind = EVENT_WHEEL, .x = x1, .y = y, .wheel = 1};
  (void)frame_event(r.f, &wheel);
  for (int i = 0; i < 12; ++i) { // Only 1, 2, tell and the menu have the keys
    assert_true(rig_key(&r, KEY_TAB, false));
    assert_int_equal(frame_focus_param(r.f), -1);
    (void)rig_key(&r, KEY_UP, false);
    (void)rig_key(&r, KEY_DELETE, false);
  }
  assert_string_equal(r.log, "");
  assert_false(rig_has_word(&r, "default"));
  rig_close(&r);
}

static void
alike_there_is_nothing_to_compare(void** state)
{
  static rig r;
  (void)state;
  marked_open(&r, "air-shelf", 0);
  rig_click_word(&r, "blind", false);
  assert_false(rig_has_word(&r, "tell"));
  rig_close(&r);
}

static void
it_waits_for_equal_loudness(void** state)
{
  static rig r;
  (void)state;
  open_two(&r, "air-shelf", "air_db");
  rig_click_word(&r, "equal loudness", false);
  rig_click_word(&r, "blind", false);
  assert_false(rig_has_word(&r, "tell"));
  marked_meter(&r, "match_db", 1);
  rig_pass(&r, 5);
  assert_true(rig_ctrl(&r, 'b', false));
  rig_click_word(&r, "blind", false);
  assert_false(rig_has_word(&r, "tell"));
  rig_pass(&r, 5);
  rig_click_word(&r, "blind", false);
  assert_true(rig_has_word(&r, "tell"));
  rig_close(&r);
}

/// Automation of the host moves, and cannot be seen either
static void
the_host_gives_nothing_away(void** state)
{
  static rig r;
  (void)state;
  open_two(&r, "air-shelf", "air_db");
  rig_click_word(&r, "equal loudness", false);
  marked_meter(&r, "match_db", 1);
  for (int i = 0; i < 2; ++i) {
    rig_pass(&r, 5);
    assert_true(rig_ctrl(&r, 'b', false));
  }
  rig_click_word(&r, "blind", false);
  assert_true(rig_has_word(&r, "tell"));
  click(&r, 2, 300);
  platform_pixels      p      = rig_paint(&r);
  unsigned char* const before = malloc(size_of(&p));
  assert_non_null(before);
  memcpy(before, p.data, size_of(&p));
  frame_take_param(r.f, rig_param(&r, "presence_db"), 3);
  rig_pass(&r, 0.2);
  p = rig_paint(&r);
  assert_memory_equal(before, p.data, size_of(&p));
  free(before);
  rig_close(&r);
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(the_sheet_gives_nothing_away),
    cmocka_unit_test(swapping_moves_only_the_bar),
    cmocka_unit_test(the_host_gives_nothing_away),
    cmocka_unit_test(the_lot_is_drawn_anew),
    cmocka_unit_test(one_and_two_are_a_and_b),
    cmocka_unit_test(it_is_one_step_of_undo),
    cmocka_unit_test(nothing_else_moves_meanwhile),
    cmocka_unit_test(alike_there_is_nothing_to_compare),
    cmocka_unit_test(it_waits_for_equal_loudness),
  };
  return cmocka_run_group_tests_name("blind", tests, NULL, NULL);
}
