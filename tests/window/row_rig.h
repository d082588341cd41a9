// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// The seven windows of a track, and more, without a window system.  What one
/// says reaches the others when they next look, as on a display.

#ifndef TESTS_WINDOW_ROW_RIG_H
#define TESTS_WINDOW_ROW_RIG_H

#include "fontconfig_leaks.h"
#include "playing.h"

#include "tests/support/check.h"

#include "plugins/window/frame.h"

#include <stdio.h>
#include <string.h>

enum { ROW_STAGES = 7, ROW_SEATS = 16, ROW_QUEUE = 512, ROW_LOG = 1024 };

#define ROW_LOOK_S (1.0 / 30) // So often hosts let a window look

static const char* const row_stems[ROW_STAGES] = {
  "di-cleanup",      "input-compressor", "tube-stage", "thickening-echo",
  "speaker-breakup", "proximity-lift",   "air-shelf"};

/// A plugin with its window, while that is open
typedef struct {
  plugin_form form;
  frame*      f;
  float       value[PLAYING_PORTS]; ///< As the host has the controls
  char        log[ROW_LOG];         ///< Touches and writes: "+enabled ..."
  bool        is_deaf;              ///< Its host does not let it look
  uint32_t    at;                   ///< What it has heard of what was said
} seat;

static seat           seats[ROW_SEATS];
static window_message row_queue[ROW_QUEUE];
static uint32_t       n_said;
static double         row_now_s;

static inline void
seat_note(seat* s, const char* format, uint32_t param, double value)
{
  const size_t            n    = strlen(s->log);
  const param_info* const info = shell_param(s->form.plugin, param);
  if (!info->is_hidden) {
    (void)snprintf(s->log + n, ROW_LOG - n, format, info->symbol, value);
  }
}

static inline void
seat_write(void* handle, uint32_t param, float value)
{
  seat* const s   = handle;
  s->value[param] = value;
  seat_note(s, "%s=%g ", param, (double)value);
}

static inline void
seat_touch(void* handle, uint32_t param, bool is_held)
{
  seat_note(handle, is_held ? "+%s " : "-%s ", param, 0);
}

static inline void
seat_say(void* handle, const window_message* m)
{
  (void)handle;
  assert_true(n_said < ROW_QUEUE);
  row_queue[n_said++] = *m;
}

static inline uint32_t
seat_port(const seat* s, const char* symbol)
{
  const int port = shell_port(s->form.plugin, symbol);
  assert_true(port >= 0);
  return (uint32_t)port;
}

/// Opens the window: the host says what it has
static inline void
seat_open(seat* s)
{
  const frame_host host = {
    .handle = s, .write = seat_write, .touch = seat_touch, .say = seat_say};
  const prefs_host prefs = {0};
  s->at                  = n_said;
  s->f                   = frame_new(&s->form, &host, &prefs);
  assert_non_null(s->f);
  assert_true(frame_resize(s->f, FRAME_WIDTH, FRAME_HEIGHT));
  frame_tick(s->f, row_now_s);
  for (uint32_t i = 0; i < shell_param_count(s->form.plugin); ++i) {
    frame_take_param(s->f, i, s->value[i]);
  }
}

static inline void
seat_close(seat* s)
{
  frame_free(s->f);
  s->f = NULL;
}

/// A plugin at its defaults, in a row by its value
static inline void
seat_insert(seat* s, const char* stem, uint32_t row)
{
  memset(s, 0, sizeof(*s));
  assert_true(playing_find(stem, &s->form));
  for (uint32_t i = 0; i < shell_param_count(s->form.plugin); ++i) {
    s->value[i] = shell_param(s->form.plugin, i)->def;
  }
  s->value[seat_port(s, "row")] = (float)row;
}

/// Each window hears what was said before, and looks at its clock
static inline void
row_look(void)
{
  const uint32_t n = n_said;
  for (seat* s = seats; s < seats + ROW_SEATS; ++s) {
    if (s->f && !s->is_deaf) {
      for (; s->at < n; ++s->at) {
        frame_take_message(s->f, &row_queue[s->at]);
      }
      frame_tick(s->f, row_now_s);
    }
  }
  for (seat* s = seats; s < seats + ROW_SEATS && n == n_said; ++s) {
    if (s->f && s->is_deaf) {
      return; // It will hear the rest
    }
  }
  if (n == n_said) { // All have heard all
    n_said = 0;
    for (seat* s = seats; s < seats + ROW_SEATS; ++s) {
      s->at = 0;
    }
  }
}

static inline void
row_pass(double seconds)
{
  for (double left = seconds; left > 0; left -= ROW_LOOK_S) {
    row_now_s += ROW_LOOK_S;
    row_look();
  }
}

static inline void
seat_key(seat* s)
{
  const window_event e = {
    .kind = EVENT_KEY, .key = KEY_TEXT, .text = 'r', .ctrl = true};
  assert_true(frame_event(s->f, &e));
}

static inline void
row_setup(void)
{
  memset(seats, 0, sizeof(seats));
  n_said = 0;
  row_now_s += 100;
}

static inline void
row_close(void)
{
  for (seat* s = seats; s < seats + ROW_SEATS; ++s) {
    if (s->f) {
      seat_close(s);
    }
  }
}

#endif // TESTS_WINDOW_ROW_RIG_H
