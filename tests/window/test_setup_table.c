// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Windows know the stages from the tables, the renderer from the Turtle by
/// lilv: to setups they must be the same

#include "tests/support/check.h"

#include "plugins/shell.h"
#include "plugins/window/setup_table.h"
#include "presets-demo/render/host/catalogue.h"

#include <string.h>

static void
check_control(const char* stem, const control_input* a, const control_input* b)
{
  if (strcmp(a->symbol, b->symbol) != 0 || strcmp(a->unit, b->unit) != 0 ||
      a->kind != b->kind || a->is_integer != b->is_integer ||
      a->min != b->min || a->def != b->def || a->max != b->max ||
      a->n_choices != b->n_choices) {
    fail_msg("%s: %s in '%s' is not %s in '%s'", stem, a->symbol, a->unit,
             b->symbol, b->unit);
  }
  for (uint32_t i = 0; i < a->n_choices; ++i) {
    assert_string_equal(a->choices[i].label, b->choices[i].label);
    assert_float_equal(a->choices[i].value, b->choices[i].value, 0);
  }
}

static void
stages_are_those_of_the_turtle(void** state)
{
  failure            f = {""};
  catalogue          c;
  setup_table* const t = setup_table_new();
  (void)state;
  assert_non_null(t);
  if (!catalogue_open(&c, BUNDLE_DIR, &f)) {
    fail_msg("%s", f.text);
  }
  const setup_parts* const all = setup_table_parts(t);
  assert_int_equal(all->n, c.n_parts);
  for (uint32_t i = 0; i < all->n; ++i) {
    const setup_part* const p = &all->parts[i];
    const part* const       q = catalogue_part(&c, p->stem);
    assert_non_null(q);
    assert_int_equal(p->n_controls, q->forms[0].n_controls);
    for (uint32_t k = 0; k < p->n_controls; ++k) {
      check_control(p->stem, &p->controls[k], &q->forms[0].controls[k]);
    }
  }
  catalogue_close(&c);
  setup_table_free(t);
}

/// Each has its place among the ports of the window
static void
controls_stand_as_in_the_shell(void** state)
{
  setup_table* const t = setup_table_new();
  const plugin*      p = NULL;
  (void)state;
  assert_non_null(t);
  for (uint32_t n = 0; (p = shell_plugin(n)); ++n) {
    const setup_part* const s = &setup_table_parts(t)->parts[n];
    assert_string_equal(s->stem, p->stem);
    assert_int_equal(s->n_controls, shell_shown_count(p));
    for (uint32_t i = 0; i < s->n_controls; ++i) {
      assert_string_equal(s->controls[i].symbol, shell_param(p, i)->symbol);
    }
  }
  setup_table_free(t);
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(stages_are_those_of_the_turtle),
    cmocka_unit_test(controls_stand_as_in_the_shell),
  };
  return cmocka_run_group_tests_name("setup-table", tests, NULL, NULL);
}
