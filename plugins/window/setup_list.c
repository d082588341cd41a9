// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "setup_list.h"

#include "plugins/text/printable_copy.h"

#include <dirent.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define ENDING ".ini"

static bool
has_ending(const char* name)
{
  const size_t n = strlen(name);
  return n > strlen(ENDING) && *name != '.' &&
         !strcmp(name + n - strlen(ENDING), ENDING);
}

void
setup_list_name(const char* path, char name[SETUP_NAME])
{
  const char* const slash = strrchr(path, '/');
  char              whole[SETUP_NAME * 4];
  (void)snprintf(whole, sizeof(whole), "%s", slash ? slash + 1 : path);
  if (has_ending(whole)) {
    whole[strlen(whole) - strlen(ENDING)] = '\0';
  }
  printable_copy(name, SETUP_NAME, whole);
}

static void
clear_entry(setup_entry* e)
{
  setup_chain_clear(&e->chain);
  free(e->path);
  free(e->fault);
}

/// Reads one file; it counts if it has the stage, or is the user's and broken
static bool
read_entry(setup_entry*       e,
           const setup_parts* parts,
           uint32_t           part,
           bool*              counts)
{
  failure f = {""};
  setup_list_name(e->path, e->name);
  if (setup_chain_load(&e->chain, e->path, parts, &f)) {
    *counts = setup_chain_stage(&e->chain, part) != NULL;
    return true;
  }
  e->fault = strdup(f.text);
  *counts  = e->is_own;
  return e->fault != NULL;
}

static char*
join(const char* folder, const char* name)
{
  const size_t room = strlen(folder) + strlen(name) + 2;
  char* const  path = malloc(room);
  if (path) {
    (void)snprintf(path, room, "%s/%s", folder, name);
  }
  return path;
}

static bool
add_file(setup_list*        list,
         const char*        folder,
         const char*        name,
         bool               is_own,
         const setup_parts* parts,
         uint32_t           part)
{
  setup_entry e      = {.path = join(folder, name), .is_own = is_own};
  bool        counts = false;
  const bool  ok     = e.path && read_entry(&e, parts, part, &counts);
  if (ok && counts) {
    list->entries[list->n++] = e;
  } else {
    clear_entry(&e);
  }
  return ok;
}

static int
by_name(const void* a, const void* b)
{
  return strcmp(((const setup_entry*)a)->name, ((const setup_entry*)b)->name);
}

static bool
add_folder(setup_list*        list,
           const char*        folder,
           bool               is_own,
           const setup_parts* parts,
           uint32_t           part)
{
  DIR* const     d     = folder ? opendir(folder) : NULL;
  const uint32_t first = list->n;
  struct dirent* e     = NULL;
  bool           ok    = true;
  while (d && ok && list->n < SETUP_MOST && (e = readdir(d))) {
    ok = !has_ending(e->d_name) ||
         add_file(list, folder, e->d_name, is_own, parts, part);
  }
  if (d) {
    (void)closedir(d);
  }
  qsort(list->entries + first, list->n - first, sizeof(*list->entries),
        by_name);
  return ok;
}

bool
setup_list_read(setup_list*        list,
                const char*        shipped,
                const char*        own,
                const setup_parts* parts,
                uint32_t           part)
{
  *list = (setup_list){.entries = calloc(SETUP_MOST, sizeof(*list->entries))};
  if (list->entries && add_folder(list, shipped, false, parts, part) &&
      add_folder(list, own, true, parts, part)) {
    return true;
  }
  setup_list_clear(list);
  return false;
}

void
setup_list_clear(setup_list* list)
{
  for (uint32_t i = 0; i < list->n; ++i) {
    clear_entry(&list->entries[i]);
  }
  free(list->entries);
  *list = (setup_list){.entries = NULL};
}
