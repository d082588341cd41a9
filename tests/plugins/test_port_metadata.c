// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// The Turtle of each port, judged by the specification installed with LV2
/// (lv2core.ttl, units.ttl, port-groups.ttl ...) and by the known troubles of
/// hosts.  Agreement with the tables in C: test_ttl.c.

#include "metadata.h"

#define MAX_PORTS  64U
#define MAX_GROUPS 16U

// ---------------------------------------------------------------------------

/// Control or audio and nothing else: some hosts refuse other types
static void
check_types(const LilvPlugin* p, const LilvPort* port)
{
  const bool is_input   = port_is(p, port, LILV_URI_INPUT_PORT);
  const bool is_output  = port_is(p, port, LILV_URI_OUTPUT_PORT);
  const bool is_control = port_is(p, port, LILV_URI_CONTROL_PORT);
  const bool is_audio   = port_is(p, port, LILV_URI_AUDIO_PORT);
  assert_true(is_input != is_output);
  assert_true(is_control != is_audio);
  assert_int_equal(lilv_nodes_size(lilv_port_get_classes(p, port)), 2);
}

static void
check_port_properties(const LilvPlugin* p, const LilvPort* port)
{
  LilvNodes* const all = lilv_port_get_properties(p, port);
  LILV_FOREACH(nodes, i, all)
  {
    const LilvNode* const property = lilv_nodes_get(all, i);
    if (!is_a(property, LV2_CORE__PortProperty)) {
      fail_msg("%s: no port property %s", symbol_of(p, port),
               lilv_node_as_string(property));
    }
  }
  lilv_nodes_free(all);
}

static void
check_port_kinds(const plugin_form* form, const LilvPlugin* p)
{
  (void)form;
  for_each_port(p, check_types);
  for_each_port(p, check_port_properties);
}

static void
types_and_properties_are_known(void** state)
{
  (void)state;
  for_each_plugin(check_port_kinds);
}

// ---------------------------------------------------------------------------

/// A number, in the port's literal type.  Never a boolean: hosts read that as
/// NaN or 0.
static void
check_literal(const LilvNode* value, bool is_integer)
{
  assert_non_null(value);
  assert_true(is_integer ? lilv_node_is_int(value) : lilv_node_is_float(value));
}

static void
check_port_range(const LilvPlugin* p, const LilvPort* port)
{
  if (!port_is(p, port, LILV_URI_CONTROL_PORT)) {
    return;
  }
  const bool is_input   = port_is(p, port, LILV_URI_INPUT_PORT);
  const bool is_integer = port_has(p, port, LV2_CORE__toggled) ||
                          port_has(p, port, LV2_CORE__integer);
  LilvNode* def = NULL;
  LilvNode* min = NULL;
  LilvNode* max = NULL;
  lilv_port_get_range(p, port, &def, &min, &max);
  check_literal(min, is_integer);
  check_literal(max, is_integer);
  const float lo = lilv_node_as_float(min);
  const float hi = lilv_node_as_float(max);
  assert_true(lo < hi);
  if (is_input) {
    check_literal(def, is_integer);
    assert_true(lilv_node_as_float(def) >= lo);
    assert_true(lilv_node_as_float(def) <= hi);
  }
  // No logarithm of 0 (port-props.ttl: same sign, neither 0)
  assert_true(
    !port_has(p, port, "http://lv2plug.in/ns/ext/port-props#logarithmic") ||
    lo > 0.0F);
  lilv_node_free(def);
  lilv_node_free(min);
  lilv_node_free(max);
}

/// Every number that can be set has a unit, or is a ratio or a choice
static void
check_port_unit(const LilvPlugin* p, const LilvPort* port)
{
  LilvNode* const unit = port_object(p, port, NS_UNITS "unit");
  if (!unit) {
    return; // test_ttl.c: the symbol then has no suffix either
  }
  assert_true(is_a(unit, NS_UNITS "Unit"));
  if (lilv_node_is_blank(unit)) {
    assert_text(unit, LILV_NS_RDFS "label");
    assert_text(unit, NS_UNITS "symbol");
  }
  lilv_node_free(unit);
}

static void
check_port_comment(const LilvPlugin* p, const LilvPort* port)
{
  LilvNode* const comment = port_object(p, port, LILV_NS_RDFS "comment");
  assert_true(comment || port_is(p, port, LILV_URI_AUDIO_PORT));
  lilv_node_free(comment);
}

/// Values and labels tell the choices apart
static void
check_scale_points(const LilvPlugin* p, const LilvPort* port)
{
  LilvScalePoints* const all = lilv_port_get_scale_points(p, port);
  LILV_FOREACH(scale_points, i, all)
  {
    const LilvScalePoint* const a = lilv_scale_points_get(all, i);
    LILV_FOREACH(scale_points, j, all)
    {
      const LilvScalePoint* const b = lilv_scale_points_get(all, j);
      if (a != b) {
        assert_string_not_equal(
          lilv_node_as_string(lilv_scale_point_get_label(a)),
          lilv_node_as_string(lilv_scale_point_get_label(b)));
        assert_int_not_equal(lilv_node_as_int(lilv_scale_point_get_value(a)),
                             lilv_node_as_int(lilv_scale_point_get_value(b)));
      }
    }
  }
  lilv_scale_points_free(all);
}

static void
check_port_values(const plugin_form* form, const LilvPlugin* p)
{
  (void)form;
  for_each_port(p, check_port_range);
  for_each_port(p, check_port_unit);
  for_each_port(p, check_port_comment);
  for_each_port(p, check_scale_points);
}

static void
ranges_units_and_choices(void** state)
{
  (void)state;
  for_each_plugin(check_port_values);
}

// ---------------------------------------------------------------------------

/// Reads the symbols of all groups of a form: those whose URI is the form's
/// with a part behind '#'.  Returns how many there are.
static uint32_t
read_group_symbols(const char* form_uri,
                   char        groups[MAX_GROUPS][32],
                   const char* symbols[MAX_GROUPS])
{
  const size_t             length = strlen(form_uri);
  uint32_t                 n      = 0;
  LilvNode* const          a      = lilv_new_uri(the_world, LILV_NS_RDF "type");
  static const char* const sides[] = {NS_GROUPS "InputGroup",
                                      NS_GROUPS "OutputGroup"};
  for (uint32_t side = 0; side < 2; ++side) {
    LilvNode* const  type = lilv_new_uri(the_world, sides[side]);
    LilvNodes* const all  = lilv_world_find_nodes(the_world, NULL, a, type);
    LILV_FOREACH(nodes, i, all)
    {
      const LilvNode* const group = lilv_nodes_get(all, i);
      const char* const     uri   = lilv_node_as_string(group);
      if (strncmp(uri, form_uri, length) != 0 || uri[length] != '#') {
        continue;
      }
      assert_true(n < MAX_GROUPS);
      char* const symbol = text(group, LV2_CORE__symbol);
      (void)snprintf(groups[n], sizeof(groups[n]), "%s", symbol);
      free(symbol);
      symbols[n] = groups[n];
      ++n;
    }
    lilv_nodes_free(all);
    lilv_node_free(type);
  }
  lilv_node_free(a);
  return n;
}

/// Symbols of ports and groups share one name space; names are for people
static void
check_names(const plugin_form* form, const LilvPlugin* p)
{
  char        groups[MAX_GROUPS][32];
  const char* symbols[MAX_PORTS + MAX_GROUPS];
  uint32_t    n = lilv_plugin_get_num_ports(p);
  assert_in_range(n, 1, MAX_PORTS);
  for (uint32_t i = 0; i < n; ++i) {
    symbols[i] = symbol_of(p, lilv_plugin_get_port_by_index(p, i));
  }
  n += read_group_symbols(form->uri, groups, symbols + n);
  for (uint32_t i = 0; i < n; ++i) {
    for (uint32_t j = 0; j < i; ++j) {
      if (!strcmp(symbols[i], symbols[j])) {
        fail_msg("%s: two ports or groups %s", form->uri, symbols[i]);
      }
    }
  }
  for (uint32_t i = 0; i < lilv_plugin_get_num_ports(p); ++i) {
    LilvNode* const name =
      lilv_port_get_name(p, lilv_plugin_get_port_by_index(p, i));
    for (uint32_t j = 0; j < i; ++j) {
      LilvNode* const other =
        lilv_port_get_name(p, lilv_plugin_get_port_by_index(p, j));
      assert_string_not_equal(lilv_node_as_string(name),
                              lilv_node_as_string(other));
      lilv_node_free(other);
    }
    lilv_node_free(name);
  }
}

static void
symbols_and_names_are_unlike(void** state)
{
  (void)state;
  for_each_plugin(check_names);
}

static bool
same_side(const LilvPlugin* p, const LilvPort* a, const LilvPort* b)
{
  return port_is(p, a, LILV_URI_INPUT_PORT) ==
         port_is(p, b, LILV_URI_INPUT_PORT);
}

/// No port before `n`, of its direction, has the same designation
static void
check_single(const LilvPlugin* p, uint32_t n, const LilvNode* designation)
{
  const LilvPort* const port = lilv_plugin_get_port_by_index(p, n);
  for (uint32_t i = 0; i < n; ++i) {
    const LilvPort* const other = lilv_plugin_get_port_by_index(p, i);
    LilvNode* const       node  = port_object(p, other, LV2_CORE__designation);
    if (lilv_node_equals(node, designation) && same_side(p, port, other)) {
      fail_msg("%s and %s: both %s", symbol_of(p, port), symbol_of(p, other),
               lilv_node_as_uri(designation));
    }
    lilv_node_free(node);
  }
}

/// A designation names one port; lv2:latency goes with its older mark
static void
check_designations(const plugin_form* form, const LilvPlugin* p)
{
  uint32_t n_latency = 0;
  uint32_t n_enabled = 0;
  for (uint32_t i = 0; i < lilv_plugin_get_num_ports(p); ++i) {
    const LilvPort* const port = lilv_plugin_get_port_by_index(p, i);
    LilvNode* const       node = port_object(p, port, LV2_CORE__designation);
    if (!node) {
      continue;
    }
    const char* const uri = lilv_node_as_uri(node);
    // A channel, or a property of the specification such as lv2:latency
    if (!is_a(node, LV2_CORE_PREFIX "Channel") &&
        !is_a(node, LILV_NS_RDF "Property")) {
      fail_msg("%s: no designation %s", form->uri, uri);
    }
    const bool is_latency = !strcmp(uri, LV2_CORE__latency);
    assert_int_equal(is_latency, port_has(p, port, LV2_CORE__reportsLatency));
    n_latency += is_latency;
    n_enabled += !strcmp(uri, LV2_CORE__enabled);
    check_single(p, i, node);
    lilv_node_free(node);
  }
  assert_int_equal(n_latency, 1);
  assert_int_equal(n_enabled, 1);
}

static void
designations_are_known_and_single(void** state)
{
  (void)state;
  for_each_plugin(check_designations);
}

// ---------------------------------------------------------------------------

/// Audio ports have a group and a side.  Those of controls:
/// test_generic_windows.c.
static void
check_port_group(const LilvPlugin* p, const LilvPort* port)
{
  if (port_is(p, port, LILV_URI_CONTROL_PORT)) {
    return;
  }
  LilvNode* const group = port_object(p, port, NS_GROUPS "group");
  assert_non_null(group);
  LilvNode* const side = port_object(p, port, LV2_CORE__designation);
  assert_non_null(side);
  const bool  is_input = port_is(p, port, LILV_URI_INPUT_PORT);
  char* const symbol   = text(group, LV2_CORE__symbol);
  assert_string_equal(symbol, is_input ? "main_in" : "main_out");
  free(symbol);
  assert_text(group, LV2_CORE__name);
  assert_true(
    is_a(group, is_input ? NS_GROUPS "InputGroup" : NS_GROUPS "OutputGroup"));
  LilvNode* const main =
    object(lilv_plugin_get_uri(p),
           is_input ? NS_GROUPS "mainInput" : NS_GROUPS "mainOutput");
  assert_true(lilv_node_equals(main, group));
  lilv_node_free(main);
  lilv_node_free(side);
  lilv_node_free(group);
}

static void
check_groups(const plugin_form* form, const LilvPlugin* p)
{
  for_each_port(p, check_port_group);
  LilvNode* const in  = object(lilv_plugin_get_uri(p), NS_GROUPS "mainInput");
  LilvNode* const out = object(lilv_plugin_get_uri(p), NS_GROUPS "mainOutput");
  assert_true(is_a(in, form->n_in == 1 ? NS_GROUPS "MonoGroup"
                                       : NS_GROUPS "StereoGroup"));
  assert_true(is_a(out, form->n_out == 1 ? NS_GROUPS "MonoGroup"
                                         : NS_GROUPS "StereoGroup"));
  LilvNode* const source = object(out, NS_GROUPS "source");
  assert_true(lilv_node_equals(source, in));
  lilv_node_free(source);
  lilv_node_free(out);
  lilv_node_free(in);
}

static void
audio_is_grouped(void** state)
{
  (void)state;
  for_each_plugin(check_groups);
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(types_and_properties_are_known),
    cmocka_unit_test(ranges_units_and_choices),
    cmocka_unit_test(symbols_and_names_are_unlike),
    cmocka_unit_test(designations_are_known_and_single),
    cmocka_unit_test(audio_is_grouped),
  };
  return cmocka_run_group_tests_name("port metadata", tests, metadata_load,
                                     metadata_unload);
}
