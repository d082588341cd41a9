// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "whole_folder.h"

#include "alloc.h"
#include "path.h"
#include "whole_exit.h"
#include "whole_list.h"
#include "whole_part.h"
#include "whole_stale.h"

#include <errno.h>
#include <fcntl.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

struct whole_folder {
  char*      path;
  char*      part_path; ///< Until it is complete
  char*      list_path; ///< In the part
  int        lock;      ///< Descriptor of the part, or -1
  whole_exit exit;
  char**     names;
  char**     files; ///< Their paths
  uint32_t   n;
};

/// Returns the path without slashes at its end; NULL if that names no folder
static char*
place_of(const char* path, failure* f)
{
  char*  place  = alloc_copy(path);
  size_t length = strlen(place);
  while (length > 1 && place[length - 1] == '/') {
    place[--length] = '\0';
  }
  const char* const name = path_name(place);
  if (!*name || !strcmp(name, ".") || !strcmp(name, "..")) {
    (void)fail_with(f, "%s: expected the name of a new folder", path);
    free(place);
    return NULL;
  }
  return place;
}

bool
whole_folder_spares(const char* path, const char* file, failure* f)
{
  // A folder without a list is no older one, and stays
  char* const list        = alloc_print("%s/" WHOLE_LIST, path);
  const bool  is_replaced = !access(list, F_OK);
  free(list);
  return !is_replaced || !path_is_within(file, path) ||
         fail_with(f,
                   "lies in %s, which is to be replaced; expected a file "
                   "outside of it, or another folder to write",
                   path);
}

/// Removes what it knows of, and each folder if it is empty, without memory
static void
remove_known(void* user)
{
  const whole_folder* const w = user;
  for (uint32_t i = 0; i < w->n; ++i) {
    char* const slash = w->files[i] + path_folder_length(w->files[i]) - 1;
    (void)unlink(w->files[i]);
    *slash = '\0';
    (void)rmdir(w->files[i]);
    *slash = '/';
  }
  (void)unlink(w->list_path);
  (void)rmdir(w->part_path);
}

/// Makes an empty folder beside its place, and locks it
static bool
make_part(whole_folder* w, failure* f)
{
  char* const part = whole_part_path(w->path);
  w->list_path     = alloc_print("%s/" WHOLE_LIST, part);
  if (!mkdtemp(part)) {
    (void)fail_with(f, "%s: cannot be created there (%s)", w->path,
                    strerror(errno));
    free(part);
    return false;
  }
  w->part_path = part;
  memcpy(w->list_path, part, strlen(part)); // Of the same length as before
  whole_exit_note(&w->exit, remove_known, w);
  w->lock = open(part, O_RDONLY | O_DIRECTORY | O_CLOEXEC);
  if (w->lock >= 0) {
    whole_part_lock(w->lock);
  }
  (void)chmod(part, whole_part_mode(0777));
  return whole_list_begin(part) ||
         fail_with(f, "%s: cannot be written (%s)", w->path, strerror(errno));
}

whole_folder*
whole_folder_open(const char* path, failure* f)
{
  char* const place = place_of(path, f);
  if (!place) {
    return NULL;
  }
  whole_stale_clear(place);
  if (!whole_list_may_replace(place, f)) {
    free(place);
    return NULL;
  }
  whole_folder* const w = alloc_new(1, sizeof(*w));
  w->path               = place;
  w->lock               = -1;
  if (!make_part(w, f)) {
    whole_folder_abandon(w);
    return NULL;
  }
  return w;
}

const char*
whole_folder_file(whole_folder* w, const char* name)
{
  w->names          = alloc_grow(w->names, w->n + 1, sizeof(*w->names));
  w->files          = alloc_grow(w->files, w->n + 1, sizeof(*w->files));
  w->names[w->n]    = alloc_copy(name);
  w->files[w->n]    = alloc_print("%s/%s", w->part_path, name);
  char* const file  = w->files[w->n++];
  char* const slash = file + path_folder_length(file) - 1;
  if (strchr(name, '/')) {
    *slash = '\0';
    (void)mkdir(file, 0777); // It may exist; writing reports a failure
    *slash = '/';
  }
  return file;
}

/// Writes the list and syncs all to disk
static bool
complete(whole_folder* w, failure* f)
{
  return (whole_list_write(w->part_path, w->names, w->n) &&
          whole_part_sync_tree(w->part_path)) ||
         fail_with(f, "%s: cannot be completed (%s)", w->path, strerror(errno));
}

/// Swaps the old folder and the part in two steps, undoing the first if the
/// second fails; the old folder becomes the part under another name
static bool
replace(whole_folder* w)
{
  char* const old = alloc_print("%s" WHOLE_PART_OLD, w->part_path);
  bool        ok  = !rename(w->path, old);
  if (ok && rename(w->part_path, w->path)) {
    const int error = errno;
    (void)rename(old, w->path);
    errno = error;
    ok    = false;
  }
  if (!ok) {
    free(old);
    return false;
  }
  free(w->part_path);
  w->part_path = old;
  return true;
}

/// Moves the part into place and removes the old folder.  After a failure
/// whole_folder_abandon() removes the part.
static bool
take_place(whole_folder* w, failure* f)
{
  struct stat status;
  const bool  is_there = !lstat(w->path, &status);
  char* const list     = whole_list_read(w->path);
  bool ok = is_there ? whole_part_exchange(w->part_path, w->path) || replace(w)
                     : !rename(w->part_path, w->path);
  if (!ok) {
    (void)fail_with(f, "%s: cannot be renamed into place (%s)", w->path,
                    strerror(errno));
  } else {
    whole_exit_complete(&w->exit);
    ok = whole_part_sync_place(w->path, f); // Before the old one is removed
    if (is_there) {
      whole_list_remove(w->part_path, list);
    }
    free(w->part_path);
    w->part_path = NULL;
  }
  free(list);
  return ok;
}

bool
whole_folder_finish(whole_folder* w, failure* f)
{
  // The place may have changed meanwhile
  const bool ok =
    whole_list_may_replace(w->path, f) && complete(w, f) && take_place(w, f);
  whole_folder_abandon(w);
  return ok;
}

void
whole_folder_abandon(whole_folder* w)
{
  if (!w) {
    return;
  }
  if (w->part_path) {
    whole_part_remove_tree(w->part_path);
  }
  whole_exit_abandon(&w->exit);
  if (w->lock >= 0) {
    (void)close(w->lock);
  }
  for (uint32_t i = 0; i < w->n; ++i) {
    free(w->names[i]);
    free(w->files[i]);
  }
  free(w->names);
  free(w->files);
  free(w->list_path);
  free(w->part_path);
  free(w->path);
  free(w);
}
