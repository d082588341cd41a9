// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "catalogue.h"

#include "presets-demo/render/program/alloc.h"

#include <stdlib.h>
#include <string.h>

typedef struct {
  char**   paths;
  uint32_t n;
} path_list;

static int
compare(const void* a, const void* b)
{
  return strcmp(*(char* const*)a, *(char* const*)b);
}

static void
add(path_list* l, const LilvNode* uri)
{
  char* const path = lilv_file_uri_parse(lilv_node_as_uri(uri), NULL);
  if (path) { // Else it is not on this machine, and nothing reads it
    l->paths         = alloc_grow(l->paths, l->n + 1, sizeof(*l->paths));
    l->paths[l->n++] = alloc_copy(path);
    lilv_free(path);
  }
}

static void
add_form(path_list* l, const LilvPlugin* plugin)
{
  const LilvNodes* const data = lilv_plugin_get_data_uris(plugin);
  add(l, lilv_plugin_get_library_uri(plugin));
  LILV_FOREACH(nodes, i, data)
  {
    add(l, lilv_nodes_get(data, i));
  }
}

static path_list
list_files(const catalogue* c)
{
  path_list l = {.n = 0};
  for (uint32_t i = 0; i < c->n_parts; ++i) {
    for (uint32_t k = 0; k < c->parts[i].n_forms; ++k) {
      add_form(&l, c->parts[i].forms[k].plugin);
    }
  }
  if (l.n) {
    qsort(l.paths, l.n, sizeof(*l.paths), compare);
  }
  return l;
}

bool
catalogue_files(const catalogue* c,
                bool (*take)(void* user, const char* path),
                void* user)
{
  const path_list l  = list_files(c);
  bool            ok = true;
  for (uint32_t i = 0; i < l.n; ++i) {
    const bool is_again = i && !strcmp(l.paths[i], l.paths[i - 1]);
    ok                  = ok && (is_again || take(user, l.paths[i]));
  }
  for (uint32_t i = 0; i < l.n; ++i) {
    free(l.paths[i]);
  }
  free(l.paths);
  return ok;
}
