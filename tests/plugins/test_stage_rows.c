// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Every plugin has its row in tests/support/stage_rows.h, and every row names
/// plugins and controls that exist

#include "tests/support/check.h"
#include "tests/support/settings.h"
#include "tests/support/stage_rows.h"

#include "plugins/shell.h"

static void
test_every_plugin_has_a_row(void** state)
{
  (void)state;
  const plugin* p     = NULL;
  uint32_t      n_bad = 0;
  for (uint32_t n = 0; (p = shell_plugin(n)); ++n) {
    const stage_row* const row = stage_row_of(p->stem);
    if (!row) {
      ++n_bad;
      continue;
    }
    const bool is_whole = row->budget > 0.0 && row->goal > 0.0 &&
                          row->hardest &&
                          (row->driven || p->forms != FORMS_TRACK);
    if (!is_whole || row->settings) {
      print_error("%s: its first row in tests/support/stage_rows.h wants "
                  "budget, goal, hardest and (track stages) driven, and no "
                  "settings\n",
                  p->stem);
      ++n_bad;
    }
  }
  assert_int_equal(n_bad, 0);
}

static bool
is_control(void* to, const char* symbol, float value)
{
  const stage_ops* const ops = to;
  for (uint32_t i = 0; i < ops->n_params; ++i) {
    const param_info* const p = &ops->params[i];
    if (!strcmp(p->symbol, symbol)) {
      return value >= p->min && value <= p->max;
    }
  }
  return false;
}

static void
check_settings(const plugin* p, const char* settings)
{
  const char* const left =
    settings_apply(settings, is_control, (void*)(size_t)p->ops);
  if (left) {
    fail_msg("%s does not take %s (tests/support/stage_rows.h)", p->stem, left);
  }
}

static const plugin*
find_plugin(const char* stem)
{
  const plugin* p = NULL;
  for (uint32_t n = 0; (p = shell_plugin(n)); ++n) {
    if (!strcmp(p->stem, stem)) {
      return p;
    }
  }
  fail_msg("no plugin %s (tests/support/stage_rows.h)", stem);
  return NULL;
}

static void
test_every_row_is_of_a_plugin(void** state)
{
  (void)state;
  for (size_t i = 0; i < N_STAGE_ROWS; ++i) {
    const stage_row* const row = &stage_rows[i];
    const plugin* const    p   = find_plugin(row->stem);
    check_settings(p, row->settings);
    check_settings(p, row->idle);
    check_settings(p, row->hardest);
    check_settings(p, row->driven);
    check_settings(p, row->listens);
  }
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_every_plugin_has_a_row),
    cmocka_unit_test(test_every_row_is_of_a_plugin),
  };
  return cmocka_run_group_tests_name("stage-rows", tests, NULL, NULL);
}
