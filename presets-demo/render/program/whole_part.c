// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "whole_part.h"

#include "alloc.h"
#include "path.h"
#include "whole_list.h"

#include <errno.h>
#include <fcntl.h>
#include <ftw.h>
#include <limits.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/file.h>
#include <sys/stat.h>
#include <unistd.h>

/// Bytes of a name that stay in that of its part: file systems take 255
#define MAX_NAME 200U

/// Global, as nftw() passes nothing on to its callback
static _Thread_local size_t walk_root_length;

/// Length of the start of a name that leaves room for the rest of the part's
static size_t
name_length(const char* name)
{
  size_t length = strlen(name);
  if (length > MAX_NAME) {
    length = MAX_NAME;
    while (length && ((unsigned char)name[length] & 0xC0U) == 0x80) {
      --length; // Not within a character of UTF-8
    }
  }
  return length;
}

char*
whole_part_path(const char* path)
{
  const size_t      folder = path_folder_length(path);
  const char* const name   = path + folder;
  return alloc_print("%.*s.%.*s.dustcap-XXXXXX", (int)folder, path,
                     (int)name_length(name), name);
}

void
whole_part_lock(int descriptor)
{
  (void)flock(descriptor, LOCK_EX | LOCK_NB);
}

bool
whole_part_exchange(const char* a, const char* b)
{
#ifdef RENAME_EXCHANGE
  return !renameat2(AT_FDCWD, a, AT_FDCWD, b, RENAME_EXCHANGE);
#else
  (void)a;
  (void)b;
  return false;
#endif
}

mode_t
whole_part_mode(mode_t wanted)
{
  const mode_t mask = umask(0);
  (void)umask(mask);
  return wanted & ~mask;
}

bool
whole_part_sync(int descriptor)
{
  return !fsync(descriptor) || errno == EINVAL || errno == ENOSYS ||
         errno == ENOTSUP;
}

static bool
sync_path(const char* path)
{
  const int  descriptor = open(path, O_RDONLY | O_CLOEXEC | O_NOFOLLOW);
  const bool ok         = descriptor >= 0 && whole_part_sync(descriptor);
  const int  error      = errno;
  if (descriptor >= 0) {
    (void)close(descriptor);
  }
  errno = error;
  return ok;
}

static int
sync_entry(const char* path, const struct stat* s, int type, struct FTW* at)
{
  (void)s;
  (void)type;
  (void)at;
  return !sync_path(path);
}

bool
whole_part_sync_tree(const char* folder)
{
  return !nftw(folder, sync_entry, WHOLE_MAX_OPEN,
               FTW_DEPTH | FTW_PHYS | FTW_MOUNT);
}

bool
whole_part_sync_place(const char* path, failure* f)
{
  char folder[PATH_MAX]; // No memory: what has its name must not fail for that
  (void)snprintf(folder, sizeof(folder), "%.*s.", (int)path_folder_length(path),
                 path);
  // A folder that may be written but not read cannot be opened for this
  const bool ok = sync_path(folder) || errno == EACCES;
  return ok || fail_with(f,
                         "%s: is in place, but its folder cannot be synced to "
                         "disk (%s)",
                         path, strerror(errno));
}

/// All but the folder and its list: without that the next run would not know
/// the rest for this program's
static int
remove_entry(const char* path, const struct stat* s, int type, struct FTW* at)
{
  (void)s;
  (void)type;
  if (at->level && strcmp(path + walk_root_length + 1, WHOLE_LIST) != 0) {
    (void)remove(path);
  }
  return 0;
}

void
whole_part_remove_tree(const char* folder)
{
  walk_root_length = strlen(folder);
  (void)nftw(folder, remove_entry, WHOLE_MAX_OPEN,
             FTW_DEPTH | FTW_PHYS | FTW_MOUNT);
  char path[PATH_MAX];
  (void)snprintf(path, sizeof(path), "%s/" WHOLE_LIST, folder);
  (void)remove(path);
  (void)rmdir(folder);
}
