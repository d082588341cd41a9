// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "whole_stale.h"

#include "alloc.h"
#include "path.h"
#include "whole_list.h"
#include "whole_part.h"

#include <ctype.h>
#include <dirent.h>
#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/file.h>
#include <sys/stat.h>
#include <time.h>
#include <unistd.h>

/// Locks do not reach everywhere, as on some network file systems: a run counts
/// as dead after this at the earliest
#define MIN_AGE_S 60

/// Returns true if a name fits the pattern, which is one for mkstemp(); sets
/// `is_old` if it is that of an older file or folder
static bool
is_part(const char* name, const char* pattern, bool* is_old)
{
  const size_t length = strlen(pattern);
  const size_t fixed  = length - strlen("XXXXXX");
  if (strlen(name) < length || strncmp(name, pattern, fixed) != 0) {
    return false;
  }
  for (size_t i = fixed; i < length; ++i) {
    if (!isalnum((unsigned char)name[i])) {
      return false;
    }
  }
  *is_old = !strcmp(name + length, WHOLE_PART_OLD);
  return *is_old || !name[length];
}

/// Returns true if no run works on it; it is locked then until the descriptor
/// is closed
static bool
is_left(int descriptor, struct stat* s)
{
  return !fstat(descriptor, s) && s->st_uid == geteuid() &&
         (S_ISREG(s->st_mode) || S_ISDIR(s->st_mode)) &&
         time(NULL) - s->st_mtime >= MIN_AGE_S &&
         !flock(descriptor, LOCK_EX | LOCK_NB);
}

static void
remove_folder(const char* part)
{
  char* const list = whole_list_read(part);
  if (whole_list_is_unfinished(list)) {
    whole_part_remove_tree(part);
  } else {
    whole_list_remove(part, list);
  }
  free(list);
}

/// Gives an older file or folder its name back if nothing has it
static bool
give_back(const char* part, const char* path)
{
  struct stat s;
  return lstat(path, &s) && !rename(part, path);
}

static void
clear_one(const char* part, const char* path, bool is_old)
{
  const int descriptor =
    open(part, O_RDONLY | O_NONBLOCK | O_NOFOLLOW | O_CLOEXEC);
  struct stat s;
  if (descriptor >= 0 && is_left(descriptor, &s)) {
    if (is_old && give_back(part, path)) {
      // Nothing else to do
    } else if (S_ISREG(s.st_mode)) {
      (void)unlink(part);
    } else {
      remove_folder(part);
    }
  }
  if (descriptor >= 0) {
    (void)close(descriptor);
  }
}

void
whole_stale_clear(const char* path)
{
  const size_t length  = path_folder_length(path);
  char* const  folder  = alloc_print("%.*s.", (int)length, path);
  char* const  pattern = whole_part_path(path);
  DIR* const   d       = opendir(folder);
  for (const struct dirent* e = NULL; d && (e = readdir(d));) {
    bool is_old = false;
    if (is_part(e->d_name, pattern + length, &is_old)) {
      char* const part = alloc_print("%.*s%s", (int)length, path, e->d_name);
      clear_one(part, path, is_old);
      free(part);
    }
  }
  if (d) {
    (void)closedir(d);
  }
  free(pattern);
  free(folder);
}
