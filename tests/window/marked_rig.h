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

#endif // TESTS_WINDOW_MARKED_RIG_H
