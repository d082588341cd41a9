// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Every control stands on its stage's sheet, once, and is shown without effect
/// only while it has none

#include "tests/support/check.h"

#include "playing.h"

#include "plugins/window/controls/control.h"
#include "plugins/window/sheet.h"

static void
every_control_stands_on_its_sheet(void** state)
{
  const plugin* p = NULL;
  (void)state;
  for (uint32_t n = 0; (p = shell_plugin(n)); ++n) {
    const sheet s                                  = sheet_of(p);
    int         count[PARAMS_MAX + shell_n_params] = {0};
    assert_in_range(s.n, 3, SHEET_MAX_COLUMNS);
    for (uint32_t i = 0; i < s.n; ++i) {
      assert_true(s.columns[i].n > 0 && s.columns[i].heading[0]);
      for (uint32_t k = 0; k < s.columns[i].n; ++k) {
        ++count[s.columns[i].rows[k].param];
      }
    }
    for (uint32_t i = 0; i < shell_param_count(p); ++i) {
      if (count[i] != (int)shell_param_is_stages(p, i)) {
        fail_msg("%s: %s stands %d times", p->stem, shell_param(p, i)->symbol,
                 count[i]);
      }
    }
    // The window has room for so many rows below a figure
    assert_in_range(s.most_rows, 1, 6);
  }
}

enum { PLAYED = 15 }; ///< Blocks: half a second

/// Plays half a second from the start with the controls of `y`; returns a sum
/// that any other sound would change
static void
play(playing* y, float* out, uint32_t* n)
{
  static float   block[2][PLAYING_BLOCK];
  const uint32_t audio = y->n_params + y->n_meters;
  y->descriptor->activate(y->instance);
  *n = 0;
  for (uint32_t b = 0; b < PLAYED; ++b) {
    for (uint32_t k = 0; k < y->form.n_in; ++k) {
      y->descriptor->connect_port(y->instance, audio + k,
                                  y->take + (size_t)b * PLAYING_BLOCK);
    }
    for (uint32_t k = 0; k < y->form.n_out; ++k) {
      y->descriptor->connect_port(y->instance, audio + y->form.n_in + k,
                                  block[k]);
    }
    y->descriptor->run(y->instance, PLAYING_BLOCK);
    for (uint32_t k = 0; k < y->form.n_out; ++k) {
      memcpy(out + *n, block[k], sizeof(block[k]));
      *n += PLAYING_BLOCK;
    }
  }
}

/// Returns whether a control changes the sound from one end to the other
static bool
is_heard(playing* y, uint32_t param)
{
  static float            low[2 * PLAYED * PLAYING_BLOCK];
  static float            high[2 * PLAYED * PLAYING_BLOCK];
  const param_info* const info = shell_param(y->form.plugin, param);
  const float             was  = y->port[param];
  uint32_t                n    = 0;
  y->port[param]               = info->min;
  play(y, low, &n);
  y->port[param] = info->max;
  play(y, high, &n);
  y->port[param] = was;
  return memcmp(low, high, n * sizeof(float)) != 0;
}

/// Sets one control to each of its ends, its default and 0; counts controls
/// that the sheet then shows without effect, and holds that they are not heard
static uint32_t
try_others(playing* y)
{
  const plugin* const p     = y->form.plugin;
  uint32_t            found = 0;
  for (uint32_t i = 0; i < shell_shown_count(p); ++i) {
    const param_info* const info    = shell_param(p, i);
    const float             was     = y->port[i];
    const float             tried[] = {info->min, info->max, 0.0F};
    for (int t = 0; t < 3; ++t) {
      y->port[i] = control_held(info, (double)tried[t]);
      for (uint32_t k = 0; k < y->n_params; ++k) {
        if (sheet_has_effect(p, k, y->port)) {
          continue;
        }
        ++found;
        if (is_heard(y, k)) {
          fail_msg("%s: with %s = %g, %s is heard", p->stem, info->symbol,
                   (double)y->port[i], shell_param(p, k)->symbol);
        }
      }
    }
    y->port[i] = was;
  }
  return found;
}

static void
what_has_no_effect_is_not_heard(void** state)
{
  static const char* const stems[] = {"di-cleanup", "input-compressor",
                                      "bus-tone", "bus-leveler", "air-shelf"};
  (void)state;
  for (size_t i = 0; i < sizeof(stems) / sizeof(stems[0]); ++i) {
    static playing y;
    plugin_form    form;
    assert_true(playing_find(stems[i], &form));
    assert_true(playing_start(&y, &form));
    assert_true(try_others(&y) > 0);
    playing_stop(&y);
  }
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(every_control_stands_on_its_sheet),
    cmocka_unit_test(what_has_no_effect_is_not_heard),
  };
  return cmocka_run_group_tests_name("sheet", tests, NULL, NULL);
}
