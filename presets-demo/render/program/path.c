// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "path.h"

#include "alloc.h"

#include <ftw.h>
#include <limits.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

#define MAX_OPEN 8

/// For nftw(), which hands nothing on to what it calls
static _Thread_local struct stat walk_file;

size_t
path_folder_length(const char* path)
{
  const char* const slash = strrchr(path, '/');
  return slash ? (size_t)(slash + 1 - path) : 0;
}

const char*
path_name(const char* path)
{
  return path + path_folder_length(path);
}

const char*
path_ending(const char* path)
{
  const char* const name = path_name(path);
  const char* const dot  = strrchr(name, '.');
  return dot ? dot : name + strlen(name);
}

char*
path_beside(const char* file, const char* name)
{
  const size_t folder = *name == '/' ? 0 : path_folder_length(file);
  return alloc_print("%.*s%s", (int)folder, file, name);
}

static bool
is_one(const struct stat* a, const struct stat* b)
{
  return a->st_dev == b->st_dev && a->st_ino == b->st_ino;
}

bool
path_is_same(const char* a, const char* b)
{
  struct stat status_a;
  struct stat status_b;
  return !stat(a, &status_a) && !stat(b, &status_b) &&
         is_one(&status_a, &status_b);
}

/// Returns true if the folder is `inner` or above it
static bool
is_above(const struct stat* folder, const char* inner)
{
  char  path[PATH_MAX];
  char* slash = NULL;
  if (!realpath(inner, path)) {
    return false;
  }
  while ((slash = strrchr(path, '/'))) {
    struct stat status;
    if (!stat(*path && path[1] ? path : "/", &status) &&
        is_one(&status, folder)) {
      return true;
    }
    *slash = '\0';
  }
  return false;
}

static int
compare_entry(const char* path, const struct stat* s, int type, struct FTW* at)
{
  (void)path;
  (void)at;
  return type == FTW_F && is_one(s, &walk_file);
}

bool
path_is_within(const char* file, const char* folder)
{
  struct stat place;
  struct stat status;
  if (stat(folder, &place) || !S_ISDIR(place.st_mode) || stat(file, &status)) {
    return false;
  }
  // The name may be a link that lies in the folder and leads out of it
  char* const beside    = path_beside(file, ".");
  const bool  is_inside = is_above(&place, file) || is_above(&place, beside);
  free(beside);
  if (is_inside || status.st_nlink < 2) {
    return is_inside;
  }
  walk_file = status;
  return nftw(folder, compare_entry, MAX_OPEN, FTW_PHYS) > 0;
}
