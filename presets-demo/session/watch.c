// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "watch.h"

#include "presets-demo/render/program/alloc.h"
#include "presets-demo/render/program/path.h"
#include "presets-demo/render/program/signals.h"
#include "presets-demo/render/setup/setup.h"

#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <time.h>

#define LOOK_NS 500000000L

typedef struct {
  char*       path;
  struct stat status;
  bool        is_read; ///< By the last rendering
} watched;

struct watch {
  watched* files;
  uint32_t n;
  char*    changed; ///< The name that was returned last
};

watch*
watch_new(void)
{
  return alloc_new(1, sizeof(watch));
}

void
watch_free(watch* w)
{
  for (uint32_t i = 0; w && i < w->n; ++i) {
    free(w->files[i].path);
  }
  if (w) {
    free(w->files);
    free(w->changed);
  }
  free(w);
}

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

// ---------------------------------------------------------------------------
// Files

/// Returns a file of the list, added if it was not there
static watched*
entry(watch* w, const char* path)
{
  for (uint32_t i = 0; i < w->n; ++i) {
    if (!strcmp(w->files[i].path, path)) {
      return &w->files[i];
    }
  }
  w->files          = alloc_grow(w->files, w->n + 1, sizeof(*w->files));
  watched* const is = &w->files[w->n++];
  *is = (watched){.path = alloc_copy(path), .status = status_of(path)};
  return is;
}

void
watch_begin(watch* w)
{
  for (uint32_t i = 0; i < w->n; ++i) {
    w->files[i].is_read = false;
  }
}

void
watch_add(watch* w, const char* path)
{
  watched* const is = entry(w, path);
  if (!is->is_read) { // Else it may have been read already
    is->is_read = true;
    is->status  = status_of(path);
  }
}

void
watch_add_fault(watch* w, const failure* f)
{
  const char* const end = strchr(f->text, ':');
  if (end && end > f->text) {
    char* const path    = alloc_copy(f->text);
    path[end - f->text] = '\0';
    (void)entry(w, path);
    free(path);
  }
}

void
watch_drop_unread(watch* w)
{
  for (uint32_t i = w->n; i-- > 0;) {
    if (!w->files[i].is_read) {
      free(w->files[i].path);
      w->files[i] = w->files[--w->n];
    }
  }
}

static void
add_strip(watch* w, const session_strip* strip, const catalogue* parts)
{
  setup   read;
  failure f = {""};
  if (strip->file) {
    watch_add(w, strip->file);
  }
  if (!strip->setup) {
    return;
  }
  watch_add(w, strip->setup);
  if (!setup_load(&read, strip->setup, parts, &f)) {
    watch_add_fault(w, &f);
    return;
  }
  for (uint32_t i = 0; i < read.n_files; ++i) {
    watch_add(w, read.files[i]);
  }
  setup_clear(&read);
}

void
watch_add_session(watch* w, const session* s, const catalogue* parts)
{
  for (uint32_t i = 0; i < s->n_tracks; ++i) {
    add_strip(w, &s->tracks[i], parts);
  }
  for (uint32_t i = 0; i < SESSION_N_SENDS; ++i) {
    add_strip(w, &s->sends[i], parts);
  }
  add_strip(w, &s->bus, parts);
}

// ---------------------------------------------------------------------------
// Waiting

/// Takes all files as they are now; returns the name of one that has changed
static const char*
look(watch* w)
{
  const char* changed = NULL;
  for (uint32_t i = 0; i < w->n; ++i) {
    const struct stat now = status_of(w->files[i].path);
    if (!is_same(&now, &w->files[i].status)) {
      changed            = path_name(w->files[i].path);
      w->files[i].status = now;
    }
  }
  return changed;
}

const char*
watch_wait(watch* w)
{
  const char* changed = NULL;
  while (!signals_caught) {
    const char* const now = look(w);
    if (!now && changed) {
      free(w->changed); // Since the last look nothing moved
      w->changed = alloc_copy(changed);
      return w->changed;
    }
    changed = now ? now : changed;
    (void)nanosleep(&(struct timespec){.tv_nsec = LOOK_NS}, NULL);
  }
  return NULL;
}
