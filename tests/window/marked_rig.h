// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// A sheet of an instance with a mark, and its meters by name

#ifndef TESTS_WINDOW_MARKED_RIG_H
#define TESTS_WINDOW_MARKED_RIG_H

#include "window_rig.h"

static inline void
marked_open(rig* r, const char* name, float mark)
{
  plugin_form form;
  float       values[PLAYING_PORTS];
  assert_true(playing_find(name, &form));
  for (uint32_t i = 0; i < shell_param_count(form.plugin); ++i) {
    values[i] = shell_param(form.plugin, i)->def;
  }
  values[shell_port(form.plugin, "window_mark")] = mark;
  rig_open_form(r, &form, values);
  rig_pass(r, 0.1);
}

static inline void
marked_meter(rig* r, const char* symbol, float value)
{
  const int port = shell_port(r->form.plugin, symbol);
  assert_true(port >= 0);
  frame_take_meter(r->f, (uint32_t)port - shell_param_count(r->form.plugin),
                   value);
}

/// For each test: a compressor's sheet, which has no mark yet
static inline int
marked_enter(void** state)
{
  static rig r;
  marked_open(&r, "input-compressor", 0);
  *state = &r;
  return 0;
}

static inline int
marked_leave(void** state)
{
  rig_close(*state);
  return 0;
}

#endif // TESTS_WINDOW_MARKED_RIG_H
