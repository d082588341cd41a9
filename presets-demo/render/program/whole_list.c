// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "whole_list.h"

#include "alloc.h"

#include <errno.h>
#include <fcntl.h>
#include <ftw.h>
#include <limits.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

/// The coarsest clock of a file system in use: FAT counts in 2 s (Microsoft's
/// FAT specification, from memory)
#define CLOCK_S 2

/// Instead of lines, in a folder that is not complete
#define UNFINISHED "unfinished\n"

/// Global, as nftw() passes nothing on to its callback
static _Thread_local struct {
  const char* folder;
  const char* list;
  failure*    f;
} walk;

/// Writes a line: size, time and name
static bool
write_line(FILE* to, const char* folder, const char* name)
{
  struct stat status;
  char* const path = alloc_print("%s/%s", folder, name);
  const bool  ok   = !lstat(path, &status) &&
                  fprintf(to, "%lld %lld %s\n", (long long)status.st_size,
                          (long long)status.st_mtime, name) > 0;
  free(path);
  return ok;
}

static FILE*
open_list(const char* folder)
{
  char* const path = alloc_print("%s/" WHOLE_LIST, folder);
  FILE* const file = fopen(path, "w");
  free(path);
  return file;
}

bool
whole_list_begin(const char* folder)
{
  FILE* const file = open_list(folder);
  if (!file) {
    return false;
  }
  const bool ok = fputs(UNFINISHED, file) >= 0;
  return !fclose(file) && ok;
}

bool
whole_list_is_unfinished(const char* list)
{
  return !strcmp(list, UNFINISHED);
}

bool
whole_list_write(const char* folder, char* const* names, uint32_t n)
{
  FILE* const file = open_list(folder);
  bool        ok   = file != NULL;
  for (uint32_t i = 0; ok && i < n; ++i) {
    ok = write_line(file, folder, names[i]);
  }
  const int  error     = errno;
  const bool is_closed = file && !fclose(file);
  if (!ok) {
    errno = error;
  }
  return ok && is_closed;
}

char*
whole_list_read(const char* folder)
{
  char*       text = alloc_copy("");
  char* const path = alloc_print("%s/" WHOLE_LIST, folder);
  FILE* const file = fopen(path, "r");
  free(path);
  if (!file) {
    return text;
  }
  char*  line   = NULL;
  size_t room   = 0;
  size_t length = 0;
  for (ssize_t n = 0; (n = getline(&line, &room, file)) > 0;) {
    text = alloc_grow(text, length + (size_t)n + 1, 1);
    memcpy(text + length, line, (size_t)n + 1);
    length += (size_t)n;
  }
  free(line);
  (void)fclose(file);
  return text;
}

/// Returns true if a line is that of a file
static bool
is_of_file(const char* line, const char* name, const struct stat* s)
{
  char*           after  = NULL;
  const long long size   = strtoll(line, &after, 10);
  const long long time_s = strtoll(after, &after, 10);
  if (*after != ' ') {
    return false;
  }
  const char* const start  = after + 1;
  const size_t      length = strcspn(start, "\n");
  return length == strlen(name) && !strncmp(start, name, length) &&
         size == (long long)s->st_size &&
         llabs(time_s - (long long)s->st_mtime) <= CLOCK_S;
}

/// Returns true if a line is that of a file in a folder
static bool
is_of_folder(const char* line, const char* name)
{
  const size_t length = strlen(name);
  int          start  = 0;
  (void)sscanf(line, "%*d %*d %n", &start);
  return start && !strncmp(line + start, name, length) &&
         line[start + (int)length] == '/';
}

bool
whole_list_holds(const char* list, const char* name, const struct stat* s)
{
  if (S_ISREG(s->st_mode) && !strcmp(name, WHOLE_LIST)) {
    return true;
  }
  bool is_in = false;
  for (const char* line = list; !is_in && *line;) {
    const size_t length = strcspn(line, "\n");
    is_in               = S_ISREG(s->st_mode)   ? is_of_file(line, name, s)
                          : S_ISDIR(s->st_mode) ? is_of_folder(line, name)
                                                : false;
    line += length + (line[length] == '\n');
  }
  return is_in;
}

/// Returns true if it is a name within a folder
static bool
is_plain(const char* name)
{
  return *name && !strchr(name, '/') && strcmp(name, ".") != 0 &&
         strcmp(name, "..") != 0;
}

/// Removes a file of an open folder if it is the one of the line
static void
remove_file(int folder, const char* leaf, const char* line, const char* name)
{
  struct stat s;
  if (is_plain(leaf) && !fstatat(folder, leaf, &s, AT_SYMLINK_NOFOLLOW) &&
      S_ISREG(s.st_mode) && is_of_file(line, name, &s)) {
    (void)unlinkat(folder, leaf, 0);
  }
}

/// Removes what a line names, and its inner folder if that is empty
static void
remove_line(int folder, const char* line)
{
  char name[PATH_MAX];
  int  start = 0;
  (void)sscanf(line, "%*d %*d %n", &start);
  (void)snprintf(name, sizeof(name), "%.*s", (int)strcspn(line + start, "\n"),
                 line + start);
  char* const slash = strchr(name, '/');
  if (!start || !slash) {
    remove_file(folder, name, line, name);
    return;
  }
  *slash = '\0';
  const int inner =
    is_plain(name)
      ? openat(folder, name, O_RDONLY | O_DIRECTORY | O_NOFOLLOW | O_CLOEXEC)
      : -1;
  if (inner >= 0) {
    *slash = '/';
    remove_file(inner, slash + 1, line, name);
    *slash = '\0';
    (void)close(inner);
    (void)unlinkat(folder, name, AT_REMOVEDIR);
  }
}

void
whole_list_remove(const char* folder, const char* list)
{
  const int at = open(folder, O_RDONLY | O_DIRECTORY | O_NOFOLLOW | O_CLOEXEC);
  if (at < 0) {
    return;
  }
  for (const char* line = list; *line;) {
    const size_t length = strcspn(line, "\n");
    remove_line(at, line);
    line += length + (line[length] == '\n');
  }
  (void)unlinkat(at, WHOLE_LIST, 0);
  (void)close(at);
  (void)rmdir(folder);
}

static int
check_entry(const char* path, const struct stat* s, int type, struct FTW* at)
{
  if (type == FTW_DNR) {
    return !fail_with(walk.f, "%s: cannot be read; expected a new folder",
                      walk.folder);
  }
  const char* const name = path + strlen(walk.folder) + 1;
  return at->level &&
         (type == FTW_NS || !whole_list_holds(walk.list, name, s)) &&
         !fail_with(walk.f,
                    "%s: holds %s, which was not written by this program or "
                    "has changed since; expected a new folder",
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
