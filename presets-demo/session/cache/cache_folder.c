// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "cache_folder.h"

#include "presets-demo/render/program/alloc.h"
#include "presets-demo/render/program/whole_stale.h"
#include "track_file.h"

#include <dirent.h>
#include <errno.h>
#include <fcntl.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#define KEY_LENGTH  (DIGEST_TEXT_SIZE - 1U)
#define NAME_LENGTH (KEY_LENGTH + sizeof(CACHE_ENDING) - 1U)

/// A file that this run does not use
typedef struct {
  char*           path;
  off_t           size;
  struct timespec used; ///< When last
} old_file;

/// What is found in a folder
typedef struct {
  const char*         folder;
  const digest_value* used;
  uint32_t            n_used;
  old_file*           old;
  uint32_t            n_old;
  double              bytes; ///< Of all files of tracks
} cleaning;

bool
cache_folder_make(const char* folder, failure* f)
{
  struct stat status;
  if (!mkdir(folder, 0777)) {
    return true;
  }
  const int error = errno;
  if (stat(folder, &status)) {
    return fail_with(f, "cannot be made (%s)", strerror(error));
  }
  return S_ISDIR(status.st_mode) || fail_with(f, "is not a folder");
}

char*
cache_folder_path(const char* folder, digest_value key)
{
  char name[DIGEST_TEXT_SIZE];
  digest_print(key, name);
  return alloc_print("%s/%s" CACHE_ENDING, folder, name);
}

/// Returns whether a name begins with that of the file of a track
static bool
is_name(const char* name)
{
  return strspn(name, "0123456789abcdef") == KEY_LENGTH &&
         !strncmp(name + KEY_LENGTH, CACHE_ENDING, NAME_LENGTH - KEY_LENGTH);
}

/// Returns whether it is a regular file that begins as one of a track
static bool
is_track(const char* path, struct stat* status)
{
  char       magic[sizeof(TRACK_MAGIC) - 1U];
  const int  d  = open(path, O_RDONLY | O_CLOEXEC | O_NOFOLLOW | O_NONBLOCK);
  const bool is = d >= 0 && !fstat(d, status) && S_ISREG(status->st_mode) &&
                  track_file_read_all(d, magic, sizeof(magic)) &&
                  !memcmp(magic, TRACK_MAGIC, sizeof(magic));
  if (d >= 0) {
    (void)close(d);
  }
  return is;
}

static bool
is_used(const cleaning* c, const char* name)
{
  bool is = false;
  for (uint32_t i = 0; !is && i < c->n_used; ++i) {
    char text[DIGEST_TEXT_SIZE];
    digest_print(c->used[i], text);
    is = !strncmp(name, text, KEY_LENGTH);
  }
  return is;
}

static void
look_at_file(cleaning* c, const char* name)
{
  struct stat status;
  char* const path = alloc_print("%s/%s", c->folder, name);
  const bool  is   = is_track(path, &status);
  c->bytes += is ? (double)status.st_size : 0.0;
  if (is && !is_used(c, name)) {
    c->old             = alloc_grow(c->old, c->n_old + 1, sizeof(*c->old));
    c->old[c->n_old++] = (old_file){path, status.st_size, status.st_mtim};
  } else {
    free(path);
  }
}

static void
look_at(cleaning* c, const char* name)
{
  if (is_name(name) && !name[NAME_LENGTH]) {
    look_at_file(c, name);
  } else if (*name == '.' && is_name(name + 1)) { // As which one grows
    char* const path =
      alloc_print("%s/%.*s", c->folder, (int)NAME_LENGTH, name + 1);
    whole_stale_clear(path);
    free(path);
  }
}

static int
by_use(const void* a, const void* b)
{
  const struct timespec x = ((const old_file*)a)->used;
  const struct timespec y = ((const old_file*)b)->used;
  return x.tv_sec != y.tv_sec
           ? (x.tv_sec > y.tv_sec) - (x.tv_sec < y.tv_sec)
           : (x.tv_nsec > y.tv_nsec) - (x.tv_nsec < y.tv_nsec);
}

void
cache_folder_clean(const char*         folder,
                   const digest_value* used,
                   uint32_t            n_used,
                   double              most_bytes)
{
  cleaning   c = {.folder = folder, .used = used, .n_used = n_used};
  DIR* const d = opendir(folder);
  for (const struct dirent* e = NULL; d && (e = readdir(d));) {
    look_at(&c, e->d_name);
  }
  if (d) {
    (void)closedir(d);
  }
  if (c.n_old) {
    qsort(c.old, c.n_old, sizeof(*c.old), by_use);
  }
  for (uint32_t i = 0; i < c.n_old; ++i) {
    if (c.bytes > most_bytes && !unlink(c.old[i].path)) {
      c.bytes -= (double)c.old[i].size;
    }
    free(c.old[i].path);
  }
  free(c.old);
}
