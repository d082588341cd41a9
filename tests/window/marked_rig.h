// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// A sheet of a plugin with the meter of its loudness and the mark of its
/// window

#ifndef TESTS_WINDOW_MARKED_RIG_H
#define TESTS_WINDOW_MARKED_RIG_H

#include "window_rig.h"

static inline void
marked_form(const char* name, plugin_form* form)
{
  static plugin     copy;
  static stage_ops  ops;
  static param_info params[PARAMS_MAX];
  static meter_info meters[METERS_MAX];
  assert_true(playing_find(name, form));
  if (shell_port(form->plugin, "match_db") >= 0) {
    return;
  }
  copy = *form->plugin;
  ops  = *copy.ops;
  memcpy(params, ops.params, ops.n_params * sizeof(params[0]));
  memcpy(meters, ops.meters, ops.n_meters * sizeof(meters[0]));
  params[ops.n_params]        = params[0];
  params[ops.n_params].symbol = "window_mark";
  params[ops.n_params].min    = 0;
  params[ops.n_params].def    = 0;
  params[ops.n_params].max    = 16777215;
  params[ops.n_params].taper  = TAPER_LIN;
  meters[ops.n_meters].symbol = "match_db";
  ops.params                  = params;
  ops.meters                  = meters;
  ++ops.n_params;
  ++ops.n_meters;
  copy.ops     = &ops;
  form->plugin = &copy;
}

static inline void
marked_open(rig* r, const char* name, float mark)
{
  plugin_form form;
  float       values[PLAYING_PORTS];
  marked_form(name, &form);
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
