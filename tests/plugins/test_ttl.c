// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Hosts see what the tables say: the Turtle as lilv reads it against the rows
/// in C, and the rules that rows must keep.

#include "tests/support/the_bundle.h"

#include <ctype.h>

// ---------------------------------------------------------------------------
// Turtle against tables

static const LilvPort*
port_at(const plugin_form* form, uint32_t index)
{
  const LilvPort* port =
    lilv_plugin_get_port_by_index(bundle_plugin(&the_bundle, form->uri), index);
  assert_non_null(port);
  return port;
}

static void
check_names(const plugin_form* form,
            const LilvPort*    port,
            const char*        symbol,
            const char*        name,
            const char*        doc)
{
  const LilvPlugin* p = bundle_plugin(&the_bundle, form->uri);
  assert_string_equal(lilv_node_as_string(lilv_port_get_symbol(p, port)),
                      symbol);
  LilvNode* const got = lilv_port_get_name(p, port);
  assert_string_equal(lilv_node_as_string(got), name);
  lilv_node_free(got);

  LilvNode* const comment = lilv_new_uri(
    the_bundle.world, "http://www.w3.org/2000/01/rdf-schema#comment");
  LilvNode* const text = lilv_port_get(p, port, comment);
  assert_non_null(text);
  assert_string_equal(lilv_node_as_string(text), doc);
  lilv_node_free(text);
  lilv_node_free(comment);
}

static bool
port_has(const plugin_form* form, const LilvPort* port, const char* property)
{
  LilvNode* const node = lilv_new_uri(the_bundle.world, property);
  const bool      has =
    lilv_port_has_property(bundle_plugin(&the_bundle, form->uri), port, node);
  lilv_node_free(node);
  return has;
}

static bool
port_is(const plugin_form* form, const LilvPort* port, const char* class_uri)
{
  LilvNode* const node = lilv_new_uri(the_bundle.world, class_uri);
  const bool      is =
    lilv_port_is_a(bundle_plugin(&the_bundle, form->uri), port, node);
  lilv_node_free(node);
  return is;
}

static void
check_choices(const plugin_form* form,
              const LilvPort*    port,
              const param_info*  info)
{
  LilvScalePoints* const points =
    lilv_port_get_scale_points(bundle_plugin(&the_bundle, form->uri), port);

  if (info->kind != PARAM_SEL) {
    assert_null(points); // Some hosts take any port with points for a choice
    return;
  }
  assert_non_null(points);
  assert_int_equal(lilv_scale_points_size(points), (int)info->max + 1);
  LILV_FOREACH(scale_points, i, points)
  {
    const LilvScalePoint* const point = lilv_scale_points_get(points, i);
    const char*                 want  = info->labels;
    for (int n = lilv_node_as_int(lilv_scale_point_get_value(point)); n; --n) {
      want = strchr(want, '|') + 1;
    }
    const char* const got =
      lilv_node_as_string(lilv_scale_point_get_label(point));
    assert_int_equal(strlen(got), strcspn(want, "|"));
    assert_memory_equal(got, want, strlen(got));
  }
  lilv_scale_points_free(points);
}

static void
check_range(const plugin_form* form, const LilvPort* port, const param_info* p)
{
  LilvNode* def = NULL;
  LilvNode* min = NULL;
  LilvNode* max = NULL;
  lilv_port_get_range(bundle_plugin(&the_bundle, form->uri), port, &def, &min,
                      &max);
  assert_true(lilv_node_as_float(def) == p->def);
  assert_true(lilv_node_as_float(min) == p->min);
  assert_true(lilv_node_as_float(max) == p->max);
  // Hosts read a boolean literal as NaN or 0
  assert_false(lilv_node_is_bool(def));
  lilv_node_free(def);
  lilv_node_free(min);
  lilv_node_free(max);
}

static void
check_form(const plugin_form* form, void* data)
{
  const LilvPlugin* p      = bundle_plugin(&the_bundle, form->uri);
  const uint32_t    params = shell_param_count(form->plugin);
  const uint32_t    meters = shell_meter_count(form->plugin);
  (void)data;

  assert_true(lilv_plugin_verify(p));
  assert_int_equal(lilv_plugin_get_num_ports(p),
                   params + meters + form->n_in + form->n_out);
  for (uint32_t i = 0; i < params; ++i) {
    const param_info* const info = shell_param(form->plugin, i);
    const LilvPort* const   port = port_at(form, i);
    assert_true(port_is(form, port, LILV_URI_INPUT_PORT));
    assert_true(port_is(form, port, LILV_URI_CONTROL_PORT));
    check_names(form, port, info->symbol, info->name, info->doc);
    check_range(form, port, info);
    check_choices(form, port, info);
    assert_true(port_has(form, port, LV2_CORE__connectionOptional));
    assert_int_equal(port_has(form, port, LV2_CORE__toggled),
                     info->kind == PARAM_TOG);
    assert_int_equal(port_has(form, port, LV2_CORE__enumeration),
                     info->kind == PARAM_SEL);
    assert_int_equal(
      port_has(form, port, "http://lv2plug.in/ns/ext/port-props#logarithmic"),
      info->taper == TAPER_LOG);
  }
  for (uint32_t i = 0; i < meters; ++i) {
    const meter_info* const info = shell_meter(form->plugin, i);
    const LilvPort* const   port = port_at(form, params + i);
    assert_true(port_is(form, port, LILV_URI_OUTPUT_PORT));
    assert_true(port_is(form, port, LILV_URI_CONTROL_PORT));
    check_names(form, port, info->symbol, info->name, info->doc);
  }
  for (uint32_t i = 0; i < form->n_in + form->n_out; ++i) {
    const LilvPort* const port = port_at(form, params + meters + i);
    assert_true(port_is(form, port, LILV_URI_AUDIO_PORT));
    assert_true(port_is(
      form, port, i < form->n_in ? LILV_URI_INPUT_PORT : LILV_URI_OUTPUT_PORT));
  }
}

static void
test_turtle_is_the_tables(void** state)
{
  (void)state;
  for_each_form(check_form, NULL);
}

static void
count_form(const plugin_form* form, void* data)
{
  (void)form;
  ++*(unsigned*)data;
}

static void
test_no_plugin_more(void** state)
{
  unsigned n = 0;
  (void)state;
  for_each_form(count_form, &n);
  assert_int_equal(lilv_plugins_size(the_bundle.plugins), n);
}

/// lv2:Plugin and one specific class (ttl-valid knows which ones exist)
static void
check_class(const plugin_form* form, const LilvPlugin* p)
{
  char want[128];
  (void)snprintf(want, sizeof(want), LV2_CORE_PREFIX "%s", form->plugin->type);

  LilvNode* const  type  = lilv_new_uri(the_bundle.world, LILV_NS_RDF "type");
  LilvNodes* const types = lilv_plugin_get_value(p, type);
  unsigned         found = 0;
  assert_int_equal(lilv_nodes_size(types), 2);
  LILV_FOREACH(nodes, i, types)
  {
    const char* const uri = lilv_node_as_uri(lilv_nodes_get(types, i));
    found += !strcmp(uri, LV2_CORE__Plugin) || !strcmp(uri, want);
  }
  assert_int_equal(found, 2);
  lilv_nodes_free(types);
  lilv_node_free(type);
}

static void
check_features(const plugin_form* form, void* data)
{
  const LilvPlugin* p = bundle_plugin(&the_bundle, form->uri);
  (void)data;

  LilvNodes* const required = lilv_plugin_get_required_features(p);
  assert_int_equal(lilv_nodes_size(required), 0);
  lilv_nodes_free(required);
  assert_true(lilv_plugin_has_latency(p));
  assert_int_equal(lilv_plugin_get_latency_port_index(p),
                   shell_param_count(form->plugin) + shell_n_meters - 1);

  LilvNode* const hard =
    lilv_new_uri(the_bundle.world, LV2_CORE__hardRTCapable);
  assert_true(lilv_plugin_has_feature(p, hard));
  lilv_node_free(hard);

  check_class(form, p);
}

static void
test_features_and_class(void** state)
{
  (void)state;
  for_each_form(check_features, NULL);
}

static void
check_enabled(const plugin_form* form, void* data)
{
  (void)data;
  LilvNode* const enabled = lilv_new_uri(the_bundle.world, LV2_CORE__enabled);
  LilvNode* const input   = lilv_new_uri(the_bundle.world, LILV_URI_INPUT_PORT);
  const LilvPort* const port = lilv_plugin_get_port_by_designation(
    bundle_plugin(&the_bundle, form->uri), input, enabled);
  assert_non_null(port);
  assert_ptr_equal(port, port_at(form, 0));
  lilv_node_free(enabled);
  lilv_node_free(input);
}

static void
test_enabled_is_designated(void** state)
{
  (void)state;
  for_each_form(check_enabled, NULL);
}

// ---------------------------------------------------------------------------
// Rules for rows

static const char* const suffixes[] = {
  [UNIT_NONE] = NULL,        [UNIT_CM] = "_cm", [UNIT_DB] = "_db",
  [UNIT_FRAMES] = "_frames", [UNIT_HZ] = "_hz", [UNIT_M] = "_m",
  [UNIT_M3] = "_m3",         [UNIT_MS] = "_ms", [UNIT_OCT] = "_oct",
  [UNIT_OHM] = "_ohm",       [UNIT_PC] = "_pc", [UNIT_S] = "_s",
};

/// A symbol ends in its own unit
static void
check_suffix(const char* symbol, param_unit unit)
{
  const size_t length = strlen(symbol);
  for (param_unit u = UNIT_NONE; u <= UNIT_S; ++u) {
    const char* const suffix = suffixes[u];
    if (suffix && length > strlen(suffix)) {
      const bool ends = !strcmp(symbol + length - strlen(suffix), suffix);
      if (ends != (u == unit)) {
        fail_msg("%s: its suffix and its unit disagree", symbol);
      }
    }
  }
}

static void
check_symbol(const char* symbol)
{
  assert_true(isalpha((unsigned char)symbol[0]));
  for (const char* s = symbol; *s; ++s) {
    assert_true(islower((unsigned char)*s) || isdigit((unsigned char)*s) ||
                *s == '_');
  }
}

static void
check_words(const char* name, const char* doc)
{
  assert_true(isupper((unsigned char)name[0]));
  assert_true(isupper((unsigned char)doc[0]));
  assert_int_equal(doc[strlen(doc) - 1], '.');
  assert_null(strpbrk(name, "\"\\\n|"));
  assert_null(strpbrk(doc, "\"\\\n|"));
}

static void
check_row(const param_info* p)
{
  check_symbol(p->symbol);
  check_words(p->name, p->doc);
  check_suffix(p->symbol, p->unit);
  assert_true(p->min < p->max);
  assert_true(p->min <= p->def && p->def <= p->max);
  assert_true(p->taper == TAPER_LIN || p->min > 0.0F);
  if (p->kind == PARAM_SEL) {
    int n = 1;
    for (const char* s = p->labels; (s = strchr(s, '|')); ++s) {
      ++n;
    }
    assert_int_equal(n, (int)p->max + 1);
  }
}

static const char*
any_symbol(const plugin* p, uint32_t i)
{
  return i < shell_param_count(p)
           ? shell_param(p, i)->symbol
           : shell_meter(p, i - shell_param_count(p))->symbol;
}

static void
test_rows_are_sound(void** state)
{
  const plugin* p = NULL;
  (void)state;
  for (uint32_t n = 0; (p = shell_plugin(n)); ++n) {
    const uint32_t ports = shell_param_count(p) + shell_meter_count(p);
    for (uint32_t i = 0; i < shell_param_count(p); ++i) {
      check_row(shell_param(p, i));
    }
    for (uint32_t i = 0; i < shell_meter_count(p); ++i) {
      const meter_info* const m = shell_meter(p, i);
      check_symbol(m->symbol);
      check_words(m->name, m->doc);
      check_suffix(m->symbol, m->unit);
      assert_true(m->min < m->max);
    }
    for (uint32_t i = 0; i < ports; ++i) {
      for (uint32_t j = 0; j < i; ++j) {
        assert_string_not_equal(any_symbol(p, i), any_symbol(p, j));
      }
    }
  }
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_turtle_is_the_tables),
    cmocka_unit_test(test_no_plugin_more),
    cmocka_unit_test(test_features_and_class),
    cmocka_unit_test(test_enabled_is_designated),
    cmocka_unit_test(test_rows_are_sound),
  };
  return cmocka_run_group_tests_name("ttl", tests, load, unload);
}
