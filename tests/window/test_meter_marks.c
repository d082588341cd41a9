// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// What a window shows of the meters made for it: marks in the figures, and the
/// click that takes an alignment over

#include "window_rig.h"

#include "common/stages/di_cleanup.h"

static uint32_t
meter_of(const rig* r, const char* symbol)
{
  return rig_param(r, symbol) - shell_param_count(r->form.plugin);
}

static void
hear(rig* r, const char* symbol, float value)
{
  frame_take_meter(r->f, meter_of(r, symbol), value);
}

// ---------------------------------------------------------------------------
// Marks

enum { RIGHT = FRAME_WIDTH, TOP = 40, BOTTOM = 310 };

static uint32_t before[BOTTOM][RIGHT];

/// The figures as they are shown; the lines of levels and help lie below
static void
remember(rig* r)
{
  const platform_pixels p = rig_paint(r);
  for (int y = TOP; y < BOTTOM; ++y) {
    memcpy(before[y], p.data + (size_t)y * (size_t)p.stride, sizeof(before[y]));
  }
}

/// Columns in which pixels have changed, and the number of these pixels
typedef struct {
  int least, most, n;
} changed;

static changed
changed_columns(rig* r, int from, int to)
{
  const platform_pixels p = rig_paint(r);
  changed               c = {RIGHT, -1, 0};
  for (int y = TOP; y < BOTTOM; ++y) {
    uint32_t row[RIGHT];
    memcpy(row, p.data + (size_t)y * (size_t)p.stride, sizeof(row));
    for (int x = from; x < to; ++x) {
      if (row[x] != before[y][x]) {
        c.least = x < c.least ? x : c.least;
        c.most  = x > c.most ? x : c.most;
        ++c.n;
      }
    }
  }
  return c;
}

/// A dot of 7 px and a triangle, both in one place, and nothing else in the
/// figure
static void
check_mark(rig* r, const char* symbol, float db, double from, double to)
{
  const double x = from + (to - from) * ((double)db + 48) / 48;
  hear(r, symbol, -120);
  rig_pass(r, 0.2);
  remember(r);
  hear(r, symbol, db);
  rig_pass(r, 0.2);
  const changed c = changed_columns(r, (int)from - 10, (int)to);
  assert_in_range(c.n, 30, 120);
  assert_near(0.5 * (c.least + c.most + 1), x, 1.0);
  assert_in_range(c.most - c.least, 5, 9);
}

/// The last of three columns, from its axis labels on: 48 dB
static void
the_treble_stands_on_the_curve(void** state)
{
  rig r;
  (void)state;
  rig_open(&r, "air-shelf");
  frame_take_param(r.f, rig_param(&r, "gentle_pc"), 60);
  rig_settle(&r);
  hear(&r, "in_db", -18);
  check_mark(&r, "treble_db", -36, 514 + 30, 740);
  check_mark(&r, "treble_db", -12.5F, 514 + 30, 740);
  rig_close(&r);
}

/// The first of three columns; the peak has its place, not the power
static void
the_peak_stands_on_the_curve(void** state)
{
  rig r;
  (void)state;
  rig_open(&r, "input-compressor");
  rig_settle(&r);
  hear(&r, "in_db", -18);
  check_mark(&r, "in_peak_db", -33, 20 + 30, 246);
  check_mark(&r, "in_peak_db", -24, 20 + 30, 246);
  rig_close(&r);
}

// ---------------------------------------------------------------------------
// Alignment

static void
click_on(rig* r, const char* word)
{
  double x = 0;
  double y = 0;
  assert_true(frame_word_of(r->f, word, &x, &y));
  rig_click(r, x, y);
}

/// Only once it is ready, as one gesture, which can be undone
static void
the_alignment_is_put_into_gain(void** state)
{
  rig r;
  (void)state;
  rig_open(&r, "di-cleanup");
  rig_settle(&r);
  hear(&r, "in_db", -25);
  hear(&r, "align_db", 7.04F);
  hear(&r, "align_ready_pc", 99.6F);
  click_on(&r, "put into gain");
  assert_string_equal(r.log, "");
  rig_pass(&r, 0.2);
  remember(&r);
  hear(&r, "align_ready_pc", 100);
  rig_pass(&r, 0.2);
  assert_true(changed_columns(&r, 0, RIGHT).most >
              735); // The word, at the right end
  click_on(&r, "put into gain");
  assert_string_equal(r.log, "+gain_db gain_db=7 -gain_db ");
  r.log[0] = '\0';
  click_on(&r, "undo");
  assert_string_equal(r.log, "+gain_db gain_db=0 -gain_db ");
  rig_close(&r);
}

/// Whether so many times Tab, then Enter, takes the alignment over
static bool
takes_over(int tabs)
{
  rig          r;
  window_event e = {.kind = EVENT_KEY, .key = KEY_TAB};
  rig_open(&r, "di-cleanup");
  hear(&r, "align_db", -3);
  hear(&r, "align_ready_pc", 100);
  for (int i = 0; i < tabs; ++i) {
    (void)frame_event(r.f, &e);
  }
  e.key = KEY_ENTER;
  (void)frame_event(r.f, &e);
  const bool does = !strcmp(r.log, "+gain_db gain_db=-3 -gain_db ");
  rig_close(&r);
  return does;
}

static void
the_word_has_the_keys_too(void** state)
{
  int n = 0;
  (void)state;
  for (int tabs = 1; tabs < 20; ++tabs) {
    n += takes_over(tabs);
  }
  assert_int_equal(n, 1); // In one place
}

/// Hum and pauses stand together
static void
noise_has_a_column(void** state)
{
  rig    r;
  double x[2] = {0};
  double y[2] = {0};
  double w    = 0;
  (void)state;
  rig_open(&r, "di-cleanup");
  rig_scale(&r, "pause_db", &x[0], &w, &y[0]);
  rig_scale(&r, "pause_below_db", &x[1], &w, &y[1]);
  assert_near(x[1], x[0], 1e-9);
  assert_near(y[1], y[0] + 31, 1e-9); // The next row
  // Below the hum's choices
  assert_true(frame_choice_of(r.f, rig_param(&r, "hum"), 0, &x[1], &y[1]));
  assert_in_range((int)(y[0] - y[1]), 20, 40);
  assert_in_range((int)x[1], (int)(x[0] - 0.5 * w), (int)x[0]);
  rig_close(&r);
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(the_treble_stands_on_the_curve),
    cmocka_unit_test(the_peak_stands_on_the_curve),
    cmocka_unit_test(the_alignment_is_put_into_gain),
    cmocka_unit_test(the_word_has_the_keys_too),
    cmocka_unit_test(noise_has_a_column),
  };
  return cmocka_run_group_tests_name("meter marks", tests, NULL, NULL);
}
