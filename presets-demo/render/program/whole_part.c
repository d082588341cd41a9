// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "whole_part.h"

#include "alloc.h"
#include "path.h"
#include "whole_list.h"

#include <errno.h>
#include <fcntl.h>
#include <ftw.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

/// Global, as nftw() passes nothing on to its callback
static _Thread_local const char* walk_list;
static _Thread_local size_t      walk_root_length;

char*
whole_part_path(const char* path)
{
  const size_t folder = path_folder_length(path);
  return alloc_print("%.*s.%s.XXXXXX", (int)folder, path, path + folder);
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
  const size_t length = path_folder_length(path);
  char* const  folder = alloc_print("%.*s.", (int)length, path);
  // A folder that may be written but not read cannot be opened for this
  const bool ok    = sync_path(folder) || errno == EACCES;
  const int  error = errno;
  free(folder);
  return ok || fail_with(f,
                         "%s: is in place, but its folder cannot be synced to "
                         "disk (%s)",
                         path, strerror(error));
}

static int
remove_entry(const char* path, const struct stat* s, int type, struct FTW* at)
{
  (void)type;
  if (!walk_list || !at->level ||
      whole_list_holds(walk_list, path + walk_root_length + 1, s)) {
    (void)remove(path);
  }
  return 0;
}

void
whole_part_remove_tree(const char* folder, const char* list)
{
  walk_list        = list;
  walk_root_length = strlen(folder);
  (void)nftw(folder, remove_entry, WHOLE_MAX_OPEN,
             FTW_DEPTH | FTW_PHYS | FTW_MOUNT);
}
