// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "whole_list.h"

#include "alloc.h"

#include <errno.h>
#include <ftw.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

/// Global, as nftw() passes nothing on to its callback
static _Thread_local struct {
  const char* folder;
  const char* list;
  failure*    f;
} walk;

bool
whole_list_write(const char* path, char* const* names, uint32_t n)
{
  FILE* const file = fopen(path, "w");
  bool        ok   = file != NULL;
  for (uint32_t i = 0; ok && i < n; ++i) {
    ok = fprintf(file, "%s\n", names[i]) > 0;
  }
  return file && !fclose(file) && ok;
}

/// The text starts with a line break, and each name ends with one
char*
whole_list_read(const char* folder)
{
  char*       text = alloc_copy("\n");
  char* const path = alloc_print("%s/" WHOLE_LIST, folder);
  FILE* const file = fopen(path, "r");
  free(path);
  if (!file) {
    return text;
  }
  char*  line   = NULL;
  size_t room   = 0;
  size_t length = 1;
  for (ssize_t n = 0; (n = getline(&line, &room, file)) > 0;) {
    text = alloc_grow(text, length + (size_t)n + 1, 1);
    memcpy(text + length, line, (size_t)n + 1);
    length += (size_t)n;
  }
  free(line);
  (void)fclose(file);
  return text;
}

bool
whole_list_holds(const char* list, const char* name)
{
  char* const line  = alloc_print("\n%s\n", name);
  const bool  is_in = strstr(list, line) != NULL;
  free(line);
  return is_in || !strcmp(name, WHOLE_LIST);
}

static int
check_entry(const char* path, const struct stat* s, int type, struct FTW* at)
{
  (void)s;
  if (type == FTW_DNR) {
    return !fail_with(walk.f, "%s: cannot be read; expected a new folder",
                      walk.folder);
  }
  const char* const name     = path + strlen(walk.folder) + 1;
  const bool        is_inner = type == FTW_D && at->level == 1;
  return at->level && !is_inner &&
         (type == FTW_D || !whole_list_holds(walk.list, name)) &&
         !fail_with(walk.f,
                    "%s: holds %s, which was not written by this program; "
                    "expected a new folder",
                    walk.folder, name);
}

bool
whole_list_may_replace(const char* path, failure* f)
{
  struct stat status;
  if (lstat(path, &status)) {
    return errno == ENOENT ||
           fail_with(f, "%s: %s; expected a new folder", path, strerror(errno));
  }
  if (!S_ISDIR(status.st_mode)) {
    return fail_with(f, "%s: is not a folder; expected a new one", path);
  }
  char* const list = whole_list_read(path);
  walk.folder      = path;
  walk.list        = list;
  walk.f           = f;
  const int result = nftw(path, check_entry, WHOLE_MAX_OPEN, FTW_PHYS);
  const int error  = errno;
  free(list);
  return !result || (result < 0 && fail_with(f, "%s: %s; expected a new folder",
                                             path, strerror(error)));
}
