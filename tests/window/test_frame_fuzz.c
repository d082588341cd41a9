// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Whatever pointer, keys and host do, in any order: every value that is
/// written is finite and in its range, and every touch is let go

#include "window_rig.h"

#ifndef SETUP_DIR
#  define FUZZ_SETUPS NULL
#else
#  define FUZZ_SETUPS SETUP_DIR
#endif

enum { EVENTS = 4000 };

typedef struct {
  const plugin*  p;
  int            held[PLAYING_PORTS];
  char           copied[8192];
  size_t         n_copied;
  bool           is_asked;
  window_message said;
} watch;

/// How often the storms came to what takes more than one event
typedef struct {
  uint32_t n_copied, n_pasted, n_said, n_menus;
} reach;

static reach reached;

static uint32_t seed;

static uint32_t
chance(uint32_t n)
{
  seed = seed * 1664525U + 1013904223U; // Numerical Recipes, from memory
  return (seed >> 8U) % n;
}

static void
watch_write(void* handle, uint32_t param, float value)
{
  const watch* const      w    = handle;
  const param_info* const info = shell_param(w->p, param);
  assert_true(value >= info->min && value <= info->max);
  assert_true(w->held[param] == 1 || info->is_hidden);
  if (info->kind != PARAM_NUM) {
    assert_true(value == roundf(value));
  }
}

static void
watch_touch(void* handle, uint32_t param, bool is_held)
{
  watch* const w = handle;
  assert_int_equal(w->held[param], is_held ? 0 : 1);
  w->held[param] = is_held;
}

/// Other windows hear it; so does whoever wants to say it again
static void
watch_say(void* handle, const window_message* m)
{
  watch* const w = handle;
  w->said        = *m;
  ++reached.n_said;
}

static bool
watch_copy(void* handle, const char* text, size_t length)
{
  watch* const w = handle;
  assert_true(length < sizeof(w->copied));
  memcpy(w->copied, text, length);
  w->n_copied = length;
  ++reached.n_copied;
  return true;
}

static bool
watch_ask(void* handle)
{
  ((watch*)handle)->is_asked = true;
  return true;
}

/// What was copied comes back, often damaged, or nothing
static void
answer(watch* w, frame* f)
{
  char damaged[sizeof(w->copied)];
  w->is_asked = false;
  ++reached.n_pasted;
  memcpy(damaged, w->copied, w->n_copied);
  for (uint32_t i = chance(4); w->n_copied && i > 0; --i) {
    damaged[chance((uint32_t)w->n_copied)] = (char)chance(256);
  }
  frame_paste(f, chance(8) ? damaged : NULL, w->n_copied, "Why.");
}

/// Mostly where something is: on a word, a scale or a handle
static void
aim(const frame* f, const plugin* p, window_event* e)
{
  double         x1 = 0;
  const uint32_t n  = shell_param_count(p);
  switch (chance(6)) {
    case 0:
      (void)frame_handle_of(f, chance(6), &e->x, &e->y);
      break;
    case 1:
      (void)frame_scale_of(f, chance(n), &e->x, &x1, &e->y);
      break;
    case 2:
      (void)frame_figure_of(f, chance(n), &e->x, &e->y);
      break;
    case 3:
      (void)frame_choice_of(f, chance(n), chance(6), &e->x, &e->y);
      break;
    case 4: {
      static const char* const words[] = {"undo",
                                          "redo",
                                          "window",
                                          "match",
                                          "equal loudness",
                                          "A",
                                          "B",
                                          "1",
                                          "2",
                                          "undo this one",
                                          "type",
                                          "blind",
                                          "tell",
                                          "copy value",
                                          "default",
                                          "copy",
                                          "paste",
                                          "setup",
                                          "rhythm",
                                          "defaults",
                                          "more \xE2\x80\xA6",
                                          "save as tube-stage",
                                          "save as rhythm",
                                          "rhythm \xE2\x80\xA2",
                                          "group",
                                          "group P",
                                          "join P",
                                          "join Q",
                                          "leave the group",
                                          "out of the group",
                                          "catch up",
                                          "keep"};
      (void)frame_word_of(f, words[chance(32)], &e->x, &e->y);
      break;
    }
    default:
      e->x = (double)chance(900) - 50;
      e->y = (double)chance(600) - 50;
  }
}

/// What a window of the same group may say, or anybody
static void
one_message(frame* f, const watch* w)
{
  window_message m = w->said;
  m.word[0]        = (m.word[0] & 0xFFFFFFU) | chance(12) << 24U;
  m.word[1] ^= chance(3); // Another sender
  m.word[2] = chance(3) ? chance(40) : m.word[2];
  m.word[3] =
    chance(3) ? chance(1U << 31U) * (chance(2) ? 1U : UINT32_MAX) : chance(4);
  frame_take_message(f, &m);
}

static void
one_event(frame* f, const watch* w, const plugin* p, double now_s)
{
  static const char  characters[] = "0123456789.,+-*kz dBHzx/cv";
  static const float odd[]        = {NAN, INFINITY, -1e30F, 0, 1, 1e30F};
  window_event       e            = {
                     .kind   = (event_kind)chance(EVENT_UNFOCUSED + 1),
                     .time_s = now_s,
                     .wheel  = chance(2) ? 1 : -1,
                     .key    = (event_key)chance(KEY_OTHER + 1),
                     .text   = characters[chance(sizeof(characters) - 1)],
                     .shift  = chance(4) == 0,
                     .ctrl   = chance(4) == 0,
  };
  aim(f, p, &e);
  switch (chance(13)) {
    case 2:
      one_message(f, w);
      break;
    case 0:
      frame_take_param(f, chance(shell_param_count(p) + 2), odd[chance(6)]);
      break;
    case 1:
      frame_take_meter(f, chance(shell_meter_count(p) + 2),
                       chance(3) ? (float)chance(140) - 120 : odd[chance(6)]);
      break;
    default:
      (void)frame_event(f, &e);
  }
}

static void
storm(const plugin* p)
{
  static watch     w;
  platform_box     boxes[4]; // Few: they are joined
  uint32_t         n     = 0;
  double           now_s = 50;
  const frame_host host  = {&w,         watch_write, watch_touch, NULL,
                            watch_copy, watch_ask,   FUZZ_SETUPS, watch_say};
  const prefs_host prefs = {0};
  memset(&w, 0, sizeof(w));
  w.p                    = p;
  const plugin_form form = shell_form(p, 0);
  frame* const      f    = frame_new(&form, &host, &prefs);
  assert_non_null(f);
  assert_true(frame_resize(f, FRAME_WIDTH, FRAME_HEIGHT));
  for (int i = 0; i < EVENTS; ++i) {
    one_event(f, &w, p, now_s);
    if (w.is_asked && chance(4) == 0) {
      answer(&w, f);
    }
    double x = 0;
    double y = 0;
    reached.n_menus += frame_word_of(f, "rhythm", &x, &y);
    now_s += chance(8) ? 0.005 : 0.5;
    frame_tick(f, now_s);
    if (chance(40) == 0) {
      (void)frame_paint(f, boxes, 4, &n);
      assert_in_range(n, 0, 4);
    }
    if (chance(500) == 0) {
      assert_true(frame_resize(f, 1 + (int)chance(1200), 1 + (int)chance(800)));
    }
  }
  frame_free(f);
  for (uint32_t i = 0; i < shell_param_count(p); ++i) {
    assert_int_equal(w.held[i], 0);
  }
}

static void
any_events_do_no_harm(void** state)
{
  const plugin* p = NULL;
  (void)state;
  for (uint32_t n = 0; (p = shell_plugin(n)); ++n) {
    seed = 7 + n;
    storm(p);
  }
  assert_true(reached.n_copied > 0);
  assert_true(reached.n_pasted > 0);
  assert_true(reached.n_said > 0);
  assert_true(reached.n_menus > 0); // With the shipped setups in it
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(any_events_do_no_harm),
  };
  // The menu would write a file of settings: into none
  assert_int_equal(setenv("XDG_CONFIG_HOME", "/dev/null", 1), 0);
  return cmocka_run_group_tests_name("frame-fuzz", tests, NULL, NULL);
}
