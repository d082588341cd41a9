// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// The bundle as a host finds it on its LV2 path, beside the vocabularies of
/// LV2 itself, for tests that ask whether a term exists

#ifndef TESTS_PLUGINS_METADATA_H
#define TESTS_PLUGINS_METADATA_H

#include "tests/support/check.h"

#include "plugins/shell.h"

#include <lilv/lilv.h>

#include <string.h>

#define NS_DOAP   "http://usefulinc.com/ns/doap#"
#define NS_GROUPS "http://lv2plug.in/ns/ext/port-groups#"
#define NS_UNITS  "http://lv2plug.in/ns/extensions/units#"

static LilvWorld* the_world;

/// Everything on LV2_PATH (set by the build: our bundle, then LV2's own)
static inline int
metadata_load(void** state)
{
  (void)state;
  the_world = lilv_world_new();
  lilv_world_load_all(the_world);
  return the_world ? 0 : -1;
}

static inline int
metadata_unload(void** state)
{
  (void)state;
  lilv_world_free(the_world);
  return 0;
}

/// Returns all objects of `subject predicate`; subject NULL is any.  Free with
/// lilv_nodes_free(); NULL if there is none.
static inline LilvNodes*
objects(const LilvNode* subject, const char* predicate)
{
  LilvNode* const  p     = lilv_new_uri(the_world, predicate);
  LilvNodes* const found = lilv_world_find_nodes(the_world, subject, p, NULL);
  lilv_node_free(p);
  return found;
}

/// Returns the only object of `subject predicate`, NULL if there is none; fails
/// if there are more
static inline LilvNode*
object(const LilvNode* subject, const char* predicate)
{
  LilvNodes* const found = objects(subject, predicate);
  if (lilv_nodes_size(found) > 1) {
    fail_msg("%s: more than one %s", lilv_node_as_string(subject), predicate);
  }
  LilvNode* const one =
    found ? lilv_node_duplicate(lilv_nodes_get_first(found)) : NULL;
  lilv_nodes_free(found);
  return one;
}

static inline bool
is_a(const LilvNode* subject, const char* type)
{
  LilvNode* const a    = lilv_new_uri(the_world, LILV_NS_RDF "type");
  LilvNode* const want = lilv_new_uri(the_world, type);
  const bool      yes  = lilv_world_ask(the_world, subject, a, want);
  lilv_node_free(want);
  lilv_node_free(a);
  return yes;
}

/// Fails unless there is exactly one object, plain text and not empty.  Returns
/// a copy; free it.
static inline char*
text(const LilvNode* subject, const char* predicate)
{
  LilvNode* const node = object(subject, predicate);
  if (!node || !lilv_node_is_string(node) || !*lilv_node_as_string(node)) {
    fail_msg("%s: no text in %s", lilv_node_as_string(subject), predicate);
  }
  char* const copy = strdup(lilv_node_as_string(node));
  lilv_node_free(node);
  return copy;
}

static inline void
assert_text(const LilvNode* subject, const char* predicate)
{
  free(text(subject, predicate));
}

static inline void
assert_nothing(const LilvNode* subject, const char* predicate)
{
  LilvNodes* const found = objects(subject, predicate);
  if (found) {
    fail_msg("%s has %s", lilv_node_as_string(subject), predicate);
  }
}

static inline const LilvPlugin*
plugin_of(const plugin_form* form)
{
  LilvNode* const         uri = lilv_new_uri(the_world, form->uri);
  const LilvPlugin* const p =
    lilv_plugins_get_by_uri(lilv_world_get_all_plugins(the_world), uri);
  lilv_node_free(uri);
  if (!p) {
    fail_msg("no %s on the LV2 path", form->uri);
  }
  assert_true(lilv_plugin_get_num_ports(p) > 0); // Makes lilv read its Turtle
  return p;
}

/// Calls `f` for each form of each plugin
static inline void
for_each_plugin(void (*f)(const plugin_form* form, const LilvPlugin* p))
{
  const plugin* p = NULL;
  for (uint32_t n = 0; (p = shell_plugin(n)); ++n) {
    for (uint32_t i = 0; i < shell_form_count(p); ++i) {
      const plugin_form form = shell_form(p, i);
      f(&form, plugin_of(&form));
    }
  }
}

// ---------------------------------------------------------------------------
// Ports

/// Calls `f` for each port, as a subject of statements
static inline void
for_each_port(const LilvPlugin* p,
              void (*f)(const LilvPlugin* p, const LilvPort* port))
{
  for (uint32_t i = 0; i < lilv_plugin_get_num_ports(p); ++i) {
    f(p, lilv_plugin_get_port_by_index(p, i));
  }
}

static inline bool
port_is(const LilvPlugin* p, const LilvPort* port, const char* type)
{
  LilvNode* const node = lilv_new_uri(the_world, type);
  const bool      is   = lilv_port_is_a(p, port, node);
  lilv_node_free(node);
  return is;
}

static inline bool
port_has(const LilvPlugin* p, const LilvPort* port, const char* property)
{
  LilvNode* const node = lilv_new_uri(the_world, property);
  const bool      has  = lilv_port_has_property(p, port, node);
  lilv_node_free(node);
  return has;
}

static inline const char*
symbol_of(const LilvPlugin* p, const LilvPort* port)
{
  return lilv_node_as_string(lilv_port_get_symbol(p, port));
}

/// The only object of a port's `predicate`, NULL if there is none; fails if
/// there are more
static inline LilvNode*
port_object(const LilvPlugin* p, const LilvPort* port, const char* predicate)
{
  LilvNode* const  uri   = lilv_new_uri(the_world, predicate);
  LilvNodes* const found = lilv_port_get_value(p, port, uri);
  lilv_node_free(uri);
  if (lilv_nodes_size(found) > 1) {
    fail_msg("%s: more than one %s", symbol_of(p, port), predicate);
  }
  LilvNode* const one =
    found ? lilv_node_duplicate(lilv_nodes_get_first(found)) : NULL;
  lilv_nodes_free(found);
  return one;
}

#endif // TESTS_PLUGINS_METADATA_H
