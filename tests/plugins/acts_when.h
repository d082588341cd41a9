// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Controls that do nothing while others are at their defaults: the settings
/// that they need, and why.  test_every_control.c holds that each row is
/// needed.

#ifndef TESTS_PLUGINS_ACTS_WHEN_H
#define TESTS_PLUGINS_ACTS_WHEN_H

#include "tests/support/settings.h"
#include "tests/support/the_bundle.h"

/// A second of playing, at 48 kHz
#define ACTS_THEN 48000U

typedef struct {
  const char* stem; ///< NULL: all that have this control
  const char* symbol;
  const char* settings; ///< From the start
  const char* then;     ///< From ACTS_THEN on
  const char* why;
} acts_when;

static const acts_when conditions[] = {
  {.symbol = "match_bypass",
   .then   = "enabled=0",
   .why    = "it is the level of the bypass, heard before"},
  {.symbol   = "makeup_db",
   .settings = "makeup=1",
   .why      = "automatic make-up is computed"},
  {.stem     = "input-compressor",
   .symbol   = "attack_ms",
   .settings = "timing=1",
   .why      = "programme timing finds its own"},
  {.stem     = "input-compressor",
   .symbol   = "release_ms",
   .settings = "timing=1",
   .why      = "programme timing finds its own"},
  {.stem     = "di-cleanup",
   .symbol   = "pause_below_db",
   .settings = "pause_db=30",
   .why      = "at 0 dB pauses are not turned down"},
  {.stem     = "bus-tone",
   .symbol   = "mid_body_hz",
   .settings = "mid_body_db=9",
   .why      = "at 0 dB there is no bell"},
};

#define N_CONDITIONS (sizeof(conditions) / sizeof(conditions[0]))

static inline const acts_when*
condition_of(const char* stem, const char* symbol)
{
  for (size_t i = 0; i < N_CONDITIONS; ++i) {
    const acts_when* const c = &conditions[i];
    if ((!c->stem || !strcmp(c->stem, stem)) && !strcmp(c->symbol, symbol)) {
      return c;
    }
  }
  return NULL;
}

static inline bool
player_take(void* to, const char* symbol, float value)
{
  player* const y = to;
  for (uint32_t i = 0; i < y->n_params; ++i) {
    const param_info* const p = shell_param(y->form.plugin, i);
    if (!strcmp(p->symbol, symbol) && value >= p->min && value <= p->max) {
      y->control[i] = value;
      return true;
    }
  }
  return false;
}

/// Sets controls by name
static inline void
player_set(player* y, const char* settings)
{
  const char* const left = settings_apply(settings, player_take, y);
  if (left) {
    fail_msg("%s does not take %s", y->form.plugin->stem, left);
  }
}

/// Counts both ends of a number or switch, all choices of a selection
static inline uint32_t
count_of_values(const param_info* p)
{
  return p->kind == PARAM_SEL ? (uint32_t)p->max + 1U : 2U;
}

static inline float
value_at(const param_info* p, uint32_t k)
{
  return p->kind == PARAM_SEL ? (float)k : k ? p->max : p->min;
}

#endif // TESTS_PLUGINS_ACTS_WHEN_H
