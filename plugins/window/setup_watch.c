// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "setup_watch.h"

#include <stdlib.h>
#include <string.h>

/// An absent file has the status zero
static struct stat
status_of(const char* path)
{
  struct stat s;
  memset(&s, 0, sizeof(s));
  if (stat(path, &s)) {
    memset(&s, 0, sizeof(s));
  }
  return s;
}

static bool
is_same(const struct stat* a, const struct stat* b)
{
  return a->st_ino == b->st_ino && a->st_dev == b->st_dev &&
         a->st_size == b->st_size && a->st_mtim.tv_sec == b->st_mtim.tv_sec &&
         a->st_mtim.tv_nsec == b->st_mtim.tv_nsec;
}

void
setup_watch_begin(setup_watch* w, const setup_chain* chain)
{
  setup_watch_end(w);
  for (uint32_t i = 0; i < chain->n_files && w->n < SETUP_WATCHED; ++i) {
    w->files[w->n].path = strdup(chain->files[i]);
    w->n += w->files[w->n].path != NULL;
  }
  setup_watch_again(w);
}

const char*
setup_watch_changed(const setup_watch* w)
{
  for (uint32_t i = 0; i < w->n; ++i) {
    const struct stat now = status_of(w->files[i].path);
    if (!is_same(&now, &w->files[i].status)) {
      return w->files[i].path;
    }
  }
  return NULL;
}

void
setup_watch_again(setup_watch* w)
{
  for (uint32_t i = 0; i < w->n; ++i) {
    w->files[i].status = status_of(w->files[i].path);
  }
}

void
setup_watch_end(setup_watch* w)
{
  for (uint32_t i = 0; i < w->n; ++i) {
    free(w->files[i].path);
    w->files[i].path = NULL;
  }
  w->n = 0;
}
