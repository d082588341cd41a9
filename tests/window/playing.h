// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// A plugin that plays the demo's rhythm take at the alignment level, round and
/// round, for windows to look at: a host's side without sound

#ifndef TESTS_WINDOW_PLAYING_H
#define TESTS_WINDOW_PLAYING_H

#include "plugins/shell.h"

#include "common/level/gated_level.h"
#include "presets-demo/guitar/take.h"

#include <stdlib.h>
#include <string.h>

enum {
  PLAYING_BLOCK = 1600, ///< Frames of 1/30 s
  PLAYING_PORTS = shell_n_params + PARAMS_MAX + shell_n_meters + METERS_MAX,
};

typedef struct {
  plugin_form           form;
  const LV2_Descriptor* descriptor;
  LV2_Handle            instance;
  uint32_t              n_params, n_meters;
  float                 port[PLAYING_PORTS]; ///< Controls, then meters
  float*                take;
  uint32_t              n_take, at;
  float                 out[2][PLAYING_BLOCK]; ///< As last played
} playing;

/// Finds a form by the last part of its URI
static inline bool
playing_find(const char* name, plugin_form* form)
{
  const plugin* p = NULL;
  for (uint32_t n = 0; (p = shell_plugin(n)); ++n) {
    for (uint32_t i = 0; i < shell_form_count(p); ++i) {
      *form = shell_form(p, i);
      if (!strcmp(form->uri + strlen(SHELL_URI_PREFIX), name)) {
        return true;
      }
    }
  }
  return false;
}

/// Makes the take, at -18 dBFS RMS
static inline bool
playing_make_take(playing* y)
{
  y->n_take          = take_frames();
  int32_t* const raw = malloc(y->n_take * sizeof(int32_t));
  y->take            = malloc(y->n_take * sizeof(float));
  const bool ok      = raw && y->take && take_render(TAKE_RHYTHM_LEFT, raw);
  if (ok) {
    static gated_level level;
    const uint32_t     hop = TAKE_RATE_HZ / 10;
    gated_level_reset(&level, -60.0);
    for (uint32_t at = 0; at + hop <= y->n_take; at += hop) {
      double sum = 0;
      for (uint32_t i = 0; i < hop; ++i) {
        const double x = raw[at + i] / 8388608.0;
        sum += x * x;
      }
      (void)gated_level_push(&level, sum / hop);
    }
    const double gain = db_to_gain(ALIGN_RMS_DBFS - gated_level_db(&level));
    for (uint32_t i = 0; i < y->n_take; ++i) {
      y->take[i] = (float)(gain * raw[i] / 8388608.0);
    }
  }
  free(raw);
  return ok;
}

static inline void
playing_stop(playing* y)
{
  if (y->instance) {
    y->descriptor->cleanup(y->instance);
  }
  free(y->take);
  y->take = NULL;
}

/// Starts with the controls at their defaults; connected for good, so do not
/// move `y`
static inline bool
playing_start(playing* y, const plugin_form* form)
{
  memset(y, 0, sizeof(*y));
  y->form     = *form;
  y->n_params = shell_param_count(form->plugin);
  y->n_meters = shell_meter_count(form->plugin);
  for (uint32_t i = 0; (y->descriptor = shell_descriptor(i)); ++i) {
    if (!strcmp(y->descriptor->URI, form->uri)) {
      break;
    }
  }
  y->instance =
    y->descriptor->instantiate(y->descriptor, TAKE_RATE_HZ, "", NULL);
  if (!y->instance || !playing_make_take(y)) {
    playing_stop(y);
    return false;
  }
  for (uint32_t i = 0; i < y->n_params + y->n_meters; ++i) {
    y->port[i] = i < y->n_params ? shell_param(form->plugin, i)->def : 0.0F;
    y->descriptor->connect_port(y->instance, i, &y->port[i]);
  }
  y->descriptor->activate(y->instance);
  return true;
}

/// Plays 1/30 s
static inline void
playing_run(playing* y)
{
  const uint32_t audio = y->n_params + y->n_meters;
  if (y->at + PLAYING_BLOCK > y->n_take) {
    y->at = 0;
  }
  for (uint32_t k = 0; k < y->form.n_in; ++k) {
    y->descriptor->connect_port(y->instance, audio + k, y->take + y->at);
  }
  for (uint32_t k = 0; k < y->form.n_out; ++k) {
    y->descriptor->connect_port(y->instance, audio + y->form.n_in + k,
                                y->out[k]);
  }
  y->descriptor->run(y->instance, PLAYING_BLOCK);
  y->at += PLAYING_BLOCK;
}

#endif // TESTS_WINDOW_PLAYING_H
