// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// What a host needs for a window of its own: values in the figures that people
/// read, steps to round values, controls under headings in their order, and
/// which of them count most.  Terms: units.ttl, port-props.ttl and
/// port-groups.ttl of LV2 1.18.

#include "metadata.h"

#define NS_PROPS "http://lv2plug.in/ns/ext/port-props#"

static int64_t
integer_of(const LilvPlugin* p, const LilvPort* port, const char* predicate)
{
  LilvNode* const node = port_object(p, port, predicate);
  if (!node || !lilv_node_is_int(node)) {
    fail_msg("%s: no whole number in %s", symbol_of(p, port), predicate);
  }
  const int64_t value = lilv_node_as_int(node);
  lilv_node_free(node);
  return value;
}

static void
assert_no_object(const LilvPlugin* p, const LilvPort* port, const char* of)
{
  LilvNode* const node = port_object(p, port, of);
  if (node) {
    fail_msg("%s has %s", symbol_of(p, port), of);
  }
}

// ---------------------------------------------------------------------------
// Figures

/// Figures after the point.  Common practice on consoles and in analysers; two
/// of a percentage whose whole range is 1 %.
static int
figures_of(param_unit unit, float range)
{
  switch (unit) {
    case UNIT_OCT:
    case UNIT_S:
    case UNIT_M:
      return 2;
    case UNIT_DB:
    case UNIT_CM:
    case UNIT_MS:
    case UNIT_OHM:
      return 1;
    case UNIT_PC:
      return range <= 1.0F ? 2 : 0;
    default:
      return 0;
  }
}

/// One number, a space, the symbol
static void
check_render(const LilvNode* unit, int figures)
{
  char* const symbol = text(unit, NS_UNITS "symbol");
  char* const render = text(unit, NS_UNITS "render");
  char        want[64];
  const bool  escaped = !strcmp(symbol, "%");
  (void)snprintf(want, sizeof(want), "%%.%df %s%s", figures, escaped ? "%" : "",
                 symbol);
  assert_string_equal(render, want);
  free(render);
  free(symbol);
}

/// A unit that LV2 has too says so, and has its symbol
static void
check_conversion(const LilvNode* unit, param_unit which)
{
  LilvNode* const conversion = object(unit, NS_UNITS "conversion");
  if (which == UNIT_M3 || which == UNIT_OHM) { // Missing there
    assert_null(conversion);
    return;
  }
  assert_non_null(conversion);
  LilvNode* const to     = object(conversion, NS_UNITS "to");
  LilvNode* const factor = object(conversion, NS_UNITS "factor");
  assert_true(is_a(to, NS_UNITS "Unit"));
  assert_true(lilv_node_as_float(factor) == 1.0F);
  char* const ours   = text(unit, NS_UNITS "symbol");
  char* const theirs = text(to, NS_UNITS "symbol");
  assert_string_equal(ours, theirs);
  free(theirs);
  free(ours);
  lilv_node_free(factor);
  lilv_node_free(to);
  lilv_node_free(conversion);
}

static void
check_figures(const LilvPlugin* p,
              uint32_t          index,
              param_unit        which,
              float             range)
{
  const LilvPort* const port = lilv_plugin_get_port_by_index(p, index);
  if (which == UNIT_NONE) {
    assert_no_object(p, port, NS_UNITS "unit");
    return;
  }
  LilvNode* const unit = port_object(p, port, NS_UNITS "unit");
  assert_non_null(unit);
  check_render(unit, figures_of(which, range));
  check_conversion(unit, which);
  lilv_node_free(unit);
}

static void
check_form_figures(const plugin_form* form, const LilvPlugin* p)
{
  const uint32_t n_params = shell_param_count(form->plugin);
  for (uint32_t i = 0; i < n_params; ++i) {
    const param_info* const info = shell_param(form->plugin, i);
    check_figures(p, i, info->unit, info->max - info->min);
  }
  for (uint32_t i = 0; i < shell_meter_count(form->plugin); ++i) {
    const meter_info* const info = shell_meter(form->plugin, i);
    check_figures(p, n_params + i, info->unit, info->max - info->min);
  }
}

static void
values_have_few_figures(void** state)
{
  (void)state;
  for_each_plugin(check_form_figures);
}

// ---------------------------------------------------------------------------
// Steps

static bool
is_whole(double x)
{
  return fabs(x - round(x)) < 1e-4;
}

/// 1, 2 or 5 in some decade: the steps of scales and coins, common practice
static bool
is_round(double step)
{
  const double decade = pow(10.0, floor(log10(step * 1.0001)));
  const double digit  = step / decade;
  return is_whole(digit) &&
         (lrint(digit) == 1 || lrint(digit) == 2 || lrint(digit) == 5);
}

/// A step, the ends and the default are round; the figures shown tell a step
static void
check_linear_steps(const param_info* info, double step)
{
  const int figures = figures_of(info->unit, info->max - info->min);
  if (!is_round(step) || !is_whole((double)info->min / step) ||
      !is_whole((double)info->max / step) ||
      !is_whole((double)info->def / step)) {
    fail_msg("%s: values in steps of %g are not round", info->symbol, step);
  }
  if (info->unit != UNIT_NONE) { // Hosts choose the figures themselves
    assert_true(is_whole(step * pow(10.0, figures)));
  }
  if (info->unit == UNIT_DB) {
    assert_true(is_whole(step / 0.5) && step <= 1.0);
  }
  if (info->unit == UNIT_PC) {
    assert_true(is_whole((info->max > 1.0F ? 1.0 : 0.05) / step));
  }
}

/// A semitone is 100 cents (common practice)
static void
check_logarithmic_steps(const param_info* info, double points)
{
  const double octaves = log2((double)info->max / (double)info->min);
  const double cents   = 1200.0 * octaves / (points - 1.0);
  const double want    = info->unit == UNIT_HZ ? 100.0 / 3.0 : 100.0;
  if (fabs(cents - want) > 0.02 * want) { // A whole number of them fits in
    fail_msg("%s: steps of %.2f cents", info->symbol, cents);
  }
}

static void
check_form_steps(const plugin_form* form, const LilvPlugin* p)
{
  for (uint32_t i = 0; i < shell_shown_count(form->plugin); ++i) {
    const param_info* const info = shell_param(form->plugin, i);
    const LilvPort* const   port = lilv_plugin_get_port_by_index(p, i);
    if (info->kind != PARAM_NUM) {
      assert_no_object(p, port, NS_PROPS "rangeSteps");
      continue;
    }
    const double points = (double)integer_of(p, port, NS_PROPS "rangeSteps");
    if (info->taper == TAPER_LOG) {
      check_logarithmic_steps(info, points);
    } else {
      check_linear_steps(info,
                         (double)(info->max - info->min) / (points - 1.0));
    }
  }
}

static void
steps_lead_to_round_values(void** state)
{
  (void)state;
  for_each_plugin(check_form_steps);
}

// ---------------------------------------------------------------------------
// Groups

static LilvNode*
group_of(const LilvPlugin* p, uint32_t index, const char* type)
{
  const LilvPort* const port  = lilv_plugin_get_port_by_index(p, index);
  LilvNode* const       group = port_object(p, port, NS_GROUPS "group");
  if (!group) {
    fail_msg("%s: in no group", symbol_of(p, port));
  }
  assert_true(is_a(group, type));
  return group;
}

/// Hosts sort headings by the URIs of the groups.  In the order of the ports
/// they never go back, so each group is in one piece too.
static void
check_order(const plugin_form* form, const LilvPlugin* p)
{
  const uint32_t n_params = shell_param_count(form->plugin);
  const uint32_t n        = n_params + shell_meter_count(form->plugin);
  LilvNode*      last     = NULL;
  for (uint32_t i = 0; i < n; ++i) {
    LilvNode* const group = group_of(
      p, i, i < n_params ? NS_GROUPS "InputGroup" : NS_GROUPS "OutputGroup");
    if (last && strcmp(lilv_node_as_uri(last), lilv_node_as_uri(group)) > 0) {
      fail_msg("%s sorts before %s", lilv_node_as_uri(group),
               lilv_node_as_uri(last));
    }
    lilv_node_free(last);
    last = group;
  }
  lilv_node_free(last);
}

/// The bypass and the trim have groups of their own, the trim the last that is
/// shown; the stage's are of a size that the eye takes in
static void
check_sizes(const plugin_form* form, const LilvPlugin* p)
{
  const plugin* const stem                        = form->plugin;
  const uint32_t      n_shown                     = shell_shown_count(stem);
  uint32_t            sizes[STAGE_GROUPS_MAX + 3] = {0};
  for (uint32_t i = 0; i < shell_param_count(stem); ++i) {
    ++sizes[shell_group_of(stem, i)];
  }
  const uint32_t n = shell_group_count(stem);
  for (uint32_t g = 1; g + 2 < n; ++g) {
    assert_in_range(sizes[g], 1, 7);
  }
  assert_int_equal(sizes[0], 2);
  assert_string_equal(shell_param(stem, 0)->symbol, "enabled");
  assert_string_equal(shell_param(stem, 1)->symbol, "match_bypass");
  assert_int_equal(sizes[n - 2], 1);
  assert_string_equal(
    symbol_of(p, lilv_plugin_get_port_by_index(p, n_shown - 1)), "trim_db");
  assert_int_equal(sizes[n - 1], SHELL_N_HIDDEN);
}

/// The name of each group is the table's; no two are alike
static void
check_group_names(const plugin_form* form, const LilvPlugin* p)
{
  const plugin* const stem = form->plugin;
  for (uint32_t i = 0; i < shell_param_count(stem); ++i) {
    LilvNode* const group = group_of(p, i, NS_GROUPS "InputGroup");
    char* const     name  = text(group, LV2_CORE__name);
    assert_string_equal(name, shell_group_name(stem, shell_group_of(stem, i)));
    free(name);
    lilv_node_free(group);
  }
  for (uint32_t g = 0; g < shell_group_count(stem); ++g) {
    const char* const name = shell_group_name(stem, g);
    assert_string_not_equal(name, "Meters");
    for (uint32_t k = 0; k < g; ++k) {
      assert_string_not_equal(name, shell_group_name(stem, k));
    }
  }
}

static void
check_form_groups(const plugin_form* form, const LilvPlugin* p)
{
  check_order(form, p);
  check_sizes(form, p);
  check_group_names(form, p);
}

static void
controls_have_headings_in_their_order(void** state)
{
  (void)state;
  for_each_plugin(check_form_groups);
}

/// Row of the stage's control; fails if there is none
static uint32_t
row_of(const plugin* p, const char* symbol)
{
  for (uint32_t i = 0; i < p->ops->n_params; ++i) {
    if (!strcmp(p->ops->params[i].symbol, symbol)) {
      return i;
    }
  }
  fail_msg("%s: no control %s", p->stem, symbol);
  return 0;
}

/// Groups begin at controls that exist, one after the other
static void
groups_begin_at_controls(void** state)
{
  const plugin* p = NULL;
  (void)state;
  for (uint32_t n = 0; (p = shell_plugin(n)); ++n) {
    assert_non_null(p->groups[0].name);
    assert_int_equal(row_of(p, p->groups[0].symbol), 0);
    for (uint32_t g = 1; p->groups[g].name; ++g) {
      assert_true(row_of(p, p->groups[g].symbol) >
                  row_of(p, p->groups[g - 1].symbol));
    }
  }
}

// ---------------------------------------------------------------------------
// Priorities

static int64_t
priority_of(const LilvPlugin* p, uint32_t index)
{
  return integer_of(p, lilv_plugin_get_port_by_index(p, index),
                    NS_PROPS "displayPriority");
}

/// The main controls come first, in their order; the bypass comes last of what
/// is shown, as hosts have a switch for it; then the hidden ones
static void
check_form_priorities(const plugin_form* form, const LilvPlugin* p)
{
  const plugin* const stem = form->plugin;
  const uint32_t      n    = shell_param_count(stem);
  for (uint32_t i = 0; i < n; ++i) {
    uint32_t n_above = 0;
    for (uint32_t k = 0; k < n; ++k) {
      assert_true(k == i || priority_of(p, k) != priority_of(p, i));
      n_above += priority_of(p, k) > priority_of(p, i);
    }
    const uint32_t n_shown = shell_shown_count(stem);
    assert_int_equal(n_above >= n_shown - SHELL_FIRST_PARAMS,
                     i < SHELL_FIRST_PARAMS || i >= n_shown);
    assert_int_equal(n_above >= n_shown, i >= n_shown);
    if (n_above < STAGE_MAIN_MAX && stem->main[n_above]) {
      assert_string_equal(shell_param(stem, i)->symbol, stem->main[n_above]);
    }
  }
  assert_non_null(stem->main[0]);
  assert_null(stem->main[STAGE_MAIN_MAX]);
}

static void
main_controls_come_first(void** state)
{
  (void)state;
  for_each_plugin(check_form_priorities);
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(values_have_few_figures),
    cmocka_unit_test(steps_lead_to_round_values),
    cmocka_unit_test(controls_have_headings_in_their_order),
    cmocka_unit_test(groups_begin_at_controls),
    cmocka_unit_test(main_controls_come_first),
  };
  return cmocka_run_group_tests_name("generic windows", tests, metadata_load,
                                     metadata_unload);
}
