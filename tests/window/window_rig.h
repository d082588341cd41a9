// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// A sheet without a window system: events go in, what the host would hear is
/// written down

#ifndef TESTS_WINDOW_WINDOW_RIG_H
#define TESTS_WINDOW_WINDOW_RIG_H

#include "fontconfig_leaks.h"
#include "playing.h"

#include "tests/support/check.h"

#include "plugins/window/frame.h"
#include "plugins/window/pictures/picture.h"

#include <stdio.h>
#include <string.h>
#include <time.h>

enum { RIG_LOG = 16384, RIG_BOXES = 64 };

typedef struct rig rig;

struct rig {
  frame*       f;
  plugin_form  form;
  double       now_s;
  char         log[RIG_LOG];  ///< "+drive_db drive_db=2 -drive_db "
  int          width, height; ///< As last wished
  char         copied[8192];  ///< Last text for the clipboard
  size_t       n_copied;
  int          n_asked; ///< How often its text was asked for
  platform_box boxes[RIG_BOXES];
  uint32_t     n_boxes;
  rig*         hearers[4];
  uint32_t     n_hearers;
};

/// Folder of the shipped setups, for windows that are opened after
static const char* rig_setups __attribute__((unused)); // NULL: none

static inline void
rig_note(rig* r, const char* format, const char* symbol, double value)
{
  const size_t n = strlen(r->log);
  (void)snprintf(r->log + n, RIG_LOG - n, format, symbol, value);
}

/// What a window keeps for itself is none of the hand's business
static inline bool
rig_is_hidden(const rig* r, uint32_t param)
{
  return shell_param(r->form.plugin, param)->is_hidden;
}

static inline void
rig_write(void* handle, uint32_t param, float value)
{
  rig* const r = handle;
  if (rig_is_hidden(r, param)) {
    return;
  }
  rig_note(r, "%s=%g ", shell_param(r->form.plugin, param)->symbol,
           (double)value);
}

static inline void
rig_touch(void* handle, uint32_t param, bool is_held)
{
  rig* const r = handle;
  if (rig_is_hidden(r, param)) {
    return;
  }
  rig_note(r, is_held ? "+%s " : "-%s ",
           shell_param(r->form.plugin, param)->symbol, 0);
}

static inline void
rig_wish(void* handle, int width, int height)
{
  rig* const r = handle;
  r->width     = width;
  r->height    = height;
}

static inline bool
rig_copy(void* handle, const char* text, size_t length)
{
  rig* const r = handle;
  assert_true(length < sizeof(r->copied));
  memcpy(r->copied, text, length);
  r->copied[length] = '\0';
  r->n_copied       = length;
  return true;
}

/// Windows that hear what this one says
static inline void
rig_say(void* handle, const window_message* m)
{
  const rig* const r = handle;
  for (uint32_t i = 0; i < r->n_hearers; ++i) {
    frame_take_message(r->hearers[i]->f, m);
  }
}

static inline bool
rig_ask(void* handle)
{
  ++((rig*)handle)->n_asked;
  return true;
}

/// Opens a window on a form, with the host's values as given (NULL: defaults)
static inline void
rig_open_form(rig* r, const plugin_form* form, const float* values)
{
  memset(r, 0, sizeof(*r));
  r->form                = *form;
  const frame_host host  = {r,        rig_write, rig_touch,  rig_wish,
                            rig_copy, rig_ask,   rig_setups, rig_say};
  const prefs_host prefs = {0};
  r->now_s               = 100;
  r->f                   = frame_new(&r->form, &host, &prefs);
  assert_non_null(r->f);
  frame_wanted_size(r->f, &r->width, &r->height);
  assert_true(frame_resize(r->f, r->width, r->height));
  frame_tick(r->f, r->now_s);
  for (uint32_t i = 0; i < shell_param_count(r->form.plugin); ++i) {
    frame_take_param(r->f, i,
                     values ? values[i] : shell_param(r->form.plugin, i)->def);
  }
}

static inline void
rig_open(rig* r, const char* name)
{
  plugin_form form;
  assert_true(playing_find(name, &form));
  rig_open_form(r, &form, NULL);
}

static inline void
rig_close(rig* r)
{
  frame_free(r->f);
}

static inline uint32_t
rig_param(const rig* r, const char* symbol)
{
  const int i = shell_port(r->form.plugin, symbol);
  assert_true(i >= 0);
  return (uint32_t)i;
}

static inline float
rig_value(const rig* r, const char* symbol)
{
  return frame_param(r->f, rig_param(r, symbol));
}

static inline void
rig_pass(rig* r, double seconds)
{
  for (double left = seconds; left > 0; left -= 1.0 / 30) {
    r->now_s += 1.0 / 30;
    frame_tick(r->f, r->now_s);
  }
}

static inline platform_pixels
rig_paint(rig* r)
{
  return frame_paint(r->f, r->boxes, RIG_BOXES, &r->n_boxes);
}

/// Waits until the figures are computed
static inline void
rig_settle(rig* r)
{
  const struct timespec wait = {0, 2000000};
  for (int i = 0; i < 15000 && !frame_is_settled(r->f); ++i) {
    (void)nanosleep(&wait, NULL);
    rig_pass(r, 0.01);
  }
  assert_true(frame_is_settled(r->f));
}

static inline bool
rig_event(rig* r, event_kind kind, double x, double y)
{
  const window_event e = {.kind = kind, .x = x, .y = y, .time_s = r->now_s};
  return frame_event(r->f, &e);
}

static inline void
rig_click(rig* r, double x, double y)
{
  rig_event(r, EVENT_PRESS, x, y);
  rig_event(r, EVENT_RELEASE, x, y);
}

static inline bool
rig_key(rig* r, event_key key, bool shift)
{
  const window_event e = {
    .kind = EVENT_KEY, .key = key, .shift = shift, .time_s = r->now_s};
  return frame_event(r->f, &e);
}

static inline void
rig_type(rig* r, const char* text)
{
  for (; *text; ++text) {
    const window_event e = {
      .kind = EVENT_KEY, .key = KEY_TEXT, .text = *text, .time_s = r->now_s};
    assert_true(frame_event(r->f, &e));
  }
}

/// The middle of a control's scale
static inline void
rig_scale(const rig* r, const char* symbol, double* x, double* w, double* y)
{
  double x0 = 0;
  double x1 = 0;
  assert_true(frame_scale_of(r->f, rig_param(r, symbol), &x0, &x1, y));
  *x = 0.5 * (x0 + x1);
  *w = x1 - x0;
}

/// Clicks on a word of the frame
static inline void
rig_click_word(rig* r, const char* word, bool shift)
{
  window_event e = {.kind = EVENT_PRESS, .shift = shift, .time_s = r->now_s};
  assert_true(frame_word_of(r->f, word, &e.x, &e.y));
  (void)frame_event(r->f, &e);
  rig_event(r, EVENT_RELEASE, e.x, e.y);
  rig_pass(r, 0.5);
}

static inline bool
rig_has_word(const rig* r, const char* word)
{
  double x = 0;
  double y = 0;
  return frame_word_of(r->f, word, &x, &y);
}

static inline bool
rig_ctrl(rig* r, char letter, bool shift)
{
  const window_event e = {.kind   = EVENT_KEY,
                          .key    = KEY_TEXT,
                          .text   = letter,
                          .shift  = shift,
                          .ctrl   = true,
                          .time_s = r->now_s};
  return frame_event(r->f, &e);
}

static inline void
rig_clear(rig* r)
{
  r->log[0] = '\0';
}

/// Gives the keys to a control, by a press
static inline void
rig_focus(rig* r, const char* symbol)
{
  double x = 0;
  double w = 0;
  double y = 0;
  rig_scale(r, symbol, &x, &w, &y);
  rig_click(r, x, y);
  rig_pass(r, 1); // Not the first half of a double click
  assert_int_equal(frame_focus_param(r->f), rig_param(r, symbol));
}

/// Types a control's value
static inline void
rig_set(rig* r, const char* symbol, const char* figure)
{
  rig_focus(r, symbol);
  rig_type(r, figure);
  assert_true(rig_key(r, KEY_ENTER, false));
}

#endif // TESTS_WINDOW_WINDOW_RIG_H
