// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// The Turtle of each plugin as a whole: complete, in terms that the LV2
/// specification defines, and true of the module.  Ports: test_port_metadata.c.
///
/// The judge is the specification installed with LV2 (lv2core.ttl, units.ttl,
/// port-groups.ttl ...), as lilv reads it.

#include "metadata.h"

#include "plugin_list.h"

#include <lv2/presets/presets.h>
#include <lv2/ui/ui.h>

#include <stdio.h>

static void
check_texts(const plugin_form* form, const LilvPlugin* p)
{
  const LilvNode* const self = lilv_plugin_get_uri(p);
  (void)form;
  assert_text(self, NS_DOAP "name");
  assert_text(self, NS_DOAP "shortdesc");
  assert_text(self, LILV_NS_RDFS "comment");
  assert_text(self, LV2_CORE__symbol);

  LilvNode* const license = object(self, NS_DOAP "license");
  assert_true(lilv_node_is_uri(license));
  lilv_node_free(license);
}

static void
names_and_licence(void** state)
{
  (void)state;
  for_each_plugin(check_texts);
}

static void
check_project(const plugin_form* form, const LilvPlugin* p)
{
  (void)form;
  LilvNode* const project = lilv_plugin_get_project(p);
  assert_non_null(project);
  assert_true(is_a(project, NS_DOAP "Project"));
  assert_text(project, NS_DOAP "name");
  assert_text(project, LV2_CORE__symbol);

  LilvNode* const author = lilv_plugin_get_author_name(p);
  assert_non_null(author);
  lilv_node_free(author);

  // An address is optional, but must be a link
  LilvNode* const mail = lilv_plugin_get_author_email(p);
  LilvNode* const page = lilv_plugin_get_author_homepage(p);
  assert_true(!mail || lilv_node_is_uri(mail));
  assert_true(!page || lilv_node_is_uri(page));
  lilv_node_free(mail);
  lilv_node_free(page);
  lilv_node_free(project);
}

static void
project_and_maintainer(void** state)
{
  (void)state;
  for_each_plugin(check_project);
}

/// Returns whether the newest of the README's Changes says so
static bool
newest_is_in_development(void)
{
  const char* const path = getenv("README");
  FILE* const       file = path ? fopen(path, "r") : NULL;
  char              line[4096];
  assert_non_null(file);
  do {
    assert_non_null(fgets(line, sizeof(line), file));
  } while (strcmp(line, "## Changes\n") != 0);
  do {
    assert_non_null(fgets(line, sizeof(line), file));
  } while (strncmp(line, "### ", 4) != 0);
  fclose(file);
  return strstr(line, "(in development)") != NULL;
}

static void
check_version(const plugin_form* form, const LilvPlugin* p)
{
  static const struct {
    const char* property;
    int         want;
  } parts[] = {{LV2_CORE__minorVersion, DUSTCAP_MINOR},
               {LV2_CORE__microVersion, DUSTCAP_MICRO}};
  (void)form;
  for (int i = 0; i < 2; ++i) {
    LilvNode* const n = object(lilv_plugin_get_uri(p), parts[i].property);
    assert_true(lilv_node_is_int(n));
    assert_int_equal(lilv_node_as_int(n), parts[i].want);
    lilv_node_free(n);
  }
  // 0 would be "before any release", odd is in development (lv2core.ttl)
  assert_true(DUSTCAP_MINOR > 0);
  assert_int_equal(DUSTCAP_MINOR % 2 || DUSTCAP_MICRO % 2,
                   newest_is_in_development());
}

static void
version_is_the_builds(void** state)
{
  (void)state;
  for_each_plugin(check_version);
}

/// A specific class, below lv2:Plugin
static void
check_class(const plugin_form* form, const LilvPlugin* p)
{
  const LilvPluginClasses* const known =
    lilv_world_get_plugin_classes(the_world);
  const LilvPluginClass* type = lilv_plugin_get_class(p);
  unsigned               up   = 0;
  for (; up < 9; ++up) {
    const LilvNode* const uri = lilv_plugin_class_get_uri(type);
    if (!strcmp(lilv_node_as_uri(uri), LV2_CORE__Plugin)) {
      break;
    }
    type = lilv_plugin_classes_get_by_uri(
      known, lilv_plugin_class_get_parent_uri(type));
    if (!type) {
      fail_msg("%s: its class is not below lv2:Plugin", form->uri);
    }
  }
  assert_in_range(up, 1, 8);
}

static void
class_is_specific(void** state)
{
  (void)state;
  for_each_plugin(check_class);
}

static bool
has_feature(const LilvPlugin* p, const char* uri)
{
  LilvNode* const node = lilv_new_uri(the_world, uri);
  const bool      has  = lilv_plugin_has_feature(p, node);
  lilv_node_free(node);
  return has;
}

static void
check_features(const plugin_form* form, const LilvPlugin* p)
{
  // Each of these keeps hosts from loading or from trusting a plugin
  static const char* const unwanted[] = {
    LV2_CORE__inPlaceBroken,
    LV2_CORE__isLive,
    "http://lv2plug.in/ns/ext/buf-size#fixedBlockLength",
    "http://lv2plug.in/ns/ext/buf-size#powerOf2BlockLength",
    "http://lv2plug.in/ns/ext/uri-map",
    "http://lv2plug.in/ns/ext/instance-access",
    "http://lv2plug.in/ns/ext/data-access",
  };
  LilvNodes* const required = lilv_plugin_get_required_features(p);
  assert_int_equal(lilv_nodes_size(required), 0);
  lilv_nodes_free(required);
  assert_true(has_feature(p, LV2_CORE__hardRTCapable));
  for (size_t i = 0; i < sizeof(unwanted) / sizeof(unwanted[0]); ++i) {
    assert_false(has_feature(p, unwanted[i]));
  }
  LilvNodes* const all = lilv_plugin_get_supported_features(p);
  LILV_FOREACH(nodes, i, all)
  {
    const LilvNode* const feature = lilv_nodes_get(all, i);
    if (!is_a(feature, LV2_CORE__Feature)) {
      fail_msg("%s: no feature %s", form->uri, lilv_node_as_string(feature));
    }
  }
  lilv_nodes_free(all);
}

static void
features_are_known_and_none_required(void** state)
{
  (void)state;
  for_each_plugin(check_features);
}

/// Everything declared exists, and nothing else: no state, options, worker,
/// patch parameters or window
static void
check_extensions(const plugin_form* form, const LilvPlugin* p)
{
  static const char* const interfaces[] = {
    "http://lv2plug.in/ns/ext/state#interface",
    "http://lv2plug.in/ns/ext/worker#interface",
    "http://lv2plug.in/ns/ext/options#interface",
    "http://lv2plug.in/ns/ext/resize-port#resize",
    "http://lv2plug.in/ns/extensions/ui#idleInterface",
  };
  const LilvNode* const self = lilv_plugin_get_uri(p);
  assert_nothing(self, LV2_CORE__extensionData);
  assert_nothing(self, "http://lv2plug.in/ns/ext/patch#readable");
  assert_nothing(self, "http://lv2plug.in/ns/ext/patch#writable");
  assert_nothing(self, "http://lv2plug.in/ns/ext/state#state");

  LilvInstance* const y = lilv_plugin_instantiate(p, 48000.0, NULL);
  assert_non_null(y);
  assert_string_equal(lilv_instance_get_uri(y), form->uri);
  assert_null(lilv_instance_get_extension_data(y, "urn:dustcap:no-such-data"));
  for (size_t i = 0; i < sizeof(interfaces) / sizeof(interfaces[0]); ++i) {
    assert_null(lilv_instance_get_extension_data(y, interfaces[i]));
  }
  lilv_instance_free(y);

  // With an empty list of features instead of none
  const LV2_Feature* const none[] = {NULL};
  LilvInstance* const      z      = lilv_plugin_instantiate(p, 48000.0, none);
  assert_non_null(z);
  lilv_instance_free(z);
}

static void
extensions_declared_are_those_there(void** state)
{
  (void)state;
  for_each_plugin(check_extensions);
}

/// A window is named just where its module is built: a host would warn of one
/// that is missing
static void
check_window(const plugin_form* form, const LilvPlugin* p)
{
  (void)form;
  LilvUIs* const uis = lilv_plugin_get_uis(p);
  assert_int_equal(lilv_uis_size(uis), HAVE_WINDOWS);
  LILV_FOREACH(uis, i, uis)
  {
    const LilvUI* const ui   = lilv_uis_get(uis, i);
    LilvNode* const     type = lilv_new_uri(the_world, LV2_UI__X11UI);
    assert_true(lilv_ui_is_a(ui, type));
    char* const path =
      lilv_file_uri_parse(lilv_node_as_uri(lilv_ui_get_binary_uri(ui)), NULL);
    FILE* const module = fopen(path, "rb");
    assert_non_null(module);
    fclose(module);
    lilv_free(path);
    lilv_node_free(type);
  }
  lilv_uis_free(uis);
}

static void
windows_are_those_there(void** state)
{
  (void)state;
  for_each_plugin(check_window);
}

/// People and files tell plugins apart by name and symbol: each is unique
static void
check_unlike(const plugin_form* form, const LilvPlugin* p)
{
  static const char* const properties[] = {NS_DOAP "name", LV2_CORE__symbol};
  const LilvPlugins*       all          = lilv_world_get_all_plugins(the_world);
  for (int i = 0; i < 2; ++i) {
    char* const mine = text(lilv_plugin_get_uri(p), properties[i]);
    LILV_FOREACH(plugins, j, all)
    {
      const LilvPlugin* const other = lilv_plugins_get(all, j);
      const LilvNode* const   uri   = lilv_plugin_get_uri(other);
      if (other != p && !strncmp(lilv_node_as_uri(uri), SHELL_URI_PREFIX,
                                 strlen(SHELL_URI_PREFIX))) {
        char* const others = text(uri, properties[i]);
        if (!strcmp(mine, others)) {
          fail_msg("%s and %s: both %s", form->uri, lilv_node_as_uri(uri),
                   mine);
        }
        free(others);
      }
    }
    free(mine);
  }
}

static void
names_and_symbols_are_unlike(void** state)
{
  (void)state;
  for_each_plugin(check_unlike);
}

/// Values of presets are decimals: lv2file leaves out integers, and every port
/// takes decimals
static unsigned
check_preset(const LilvNode* preset)
{
  lilv_world_load_resource(the_world, preset); // It is not in the manifest
  LilvNodes* const ports = objects(preset, LV2_CORE__port);
  LILV_FOREACH(nodes, i, ports)
  {
    LilvNode* const value =
      object(lilv_nodes_get(ports, i), LV2_PRESETS__value);
    if (!value || !lilv_node_is_float(value)) {
      fail_msg("%s: %s is not a decimal", lilv_node_as_uri(preset),
               value ? lilv_node_as_string(value) : "nothing");
    }
    lilv_node_free(value);
  }
  const unsigned n = lilv_nodes_size(ports);
  lilv_nodes_free(ports);
  return n;
}

static void
check_presets(const plugin_form* form, const LilvPlugin* p)
{
  LilvNode* const  type = lilv_new_uri(the_world, LV2_PRESETS__Preset);
  LilvNodes* const all  = lilv_plugin_get_related(p, type);
  if (lilv_nodes_size(all) == 0) {
    fail_msg("%s has no factory preset: give %s a section in a setup of "
             "presets-demo/setups/, then ./dev ttl",
             form->uri, form->plugin->stem);
  }
  LILV_FOREACH(nodes, i, all)
  {
    // Every control but the hidden ones and those of the track: "enabled",
    // "match_bypass", and the gain that aligns it
    const bool has_gain = !strcmp(form->plugin->stem, "di-cleanup");
    assert_int_equal(check_preset(lilv_nodes_get(all, i)),
                     shell_shown_count(form->plugin) - (has_gain ? 3 : 2));
  }
  lilv_nodes_free(all);
  lilv_node_free(type);
}

static void
presets_are_whole_and_in_decimals(void** state)
{
  (void)state;
  for_each_plugin(check_presets);
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(names_and_licence),
    cmocka_unit_test(project_and_maintainer),
    cmocka_unit_test(version_is_the_builds),
    cmocka_unit_test(class_is_specific),
    cmocka_unit_test(features_are_known_and_none_required),
    cmocka_unit_test(extensions_declared_are_those_there),
    cmocka_unit_test(windows_are_those_there),
    cmocka_unit_test(names_and_symbols_are_unlike),
    cmocka_unit_test(presets_are_whole_and_in_decimals),
  };
  return cmocka_run_group_tests_name("metadata", tests, metadata_load,
                                     metadata_unload);
}
