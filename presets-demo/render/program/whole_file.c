// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "whole_file.h"

#include "alloc.h"
#include "whole_exit.h"
#include "whole_part.h"
#include "whole_stale.h"

#include <errno.h>
#include <fcntl.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

struct whole_file {
  char*      path;
  char*      part_path;  ///< Until it is complete
  int        descriptor; ///< -1 once it is closed
  FILE*      stream;     ///< Of the descriptor, or NULL
  whole_exit exit;
};

static void
remove_part(void* user)
{
  (void)unlink(((const whole_file*)user)->part_path);
}

/// Opens the part, with the access rights that the target has or would have
static bool
open_part(whole_file* w, failure* f)
{
  struct stat status;
  const bool  exists = !stat(w->path, &status);
  if (exists && !S_ISREG(status.st_mode)) {
    return fail_with(f, "%s: is not a regular file; expected one, or none",
                     w->path);
  }
  whole_stale_clear(w->path);
  char* const part = whole_part_path(w->path);
  w->descriptor    = mkostemp(part, O_CLOEXEC);
  if (w->descriptor < 0) {
    (void)fail_with(f, "%s: cannot write in that folder (%s)", w->path,
                    strerror(errno));
    free(part);
    return false;
  }
  w->part_path = part;
  whole_exit_note(&w->exit, remove_part, w);
  whole_part_lock(w->descriptor);
  (void)fchmod(w->descriptor,
               exists ? status.st_mode & 0777 : whole_part_mode(0666));
  return true;
}

whole_file*
whole_file_open(const char* path, failure* f)
{
  whole_file* const w = alloc_new(1, sizeof(*w));
  w->path             = alloc_copy(path);
  w->descriptor       = -1;
  if (!open_part(w, f)) {
    whole_file_abandon(w);
    return NULL;
  }
  return w;
}

int
whole_file_descriptor(const whole_file* w)
{
  return w->descriptor;
}

FILE*
whole_file_stream(whole_file* w)
{
  if (!w->stream) {
    w->stream = alloc_check(fdopen(w->descriptor, "w"));
  }
  return w->stream;
}

const char*
whole_file_part(const whole_file* w)
{
  return w->part_path;
}

/// Returns 0, or -1 with errno.  Some systems report a full disk only here.
static int
close_part(whole_file* w)
{
  const int status = w->stream
                       ? fclose(w->stream)
                       : (w->descriptor >= 0 ? close(w->descriptor) : 0);
  w->stream        = NULL;
  w->descriptor    = -1;
  return status;
}

/// Syncs the part to disk and closes it
static bool
complete(whole_file* w, failure* f)
{
  const bool is_written =
    !w->stream || (!fflush(w->stream) && !ferror(w->stream));
  const bool is_synced = is_written && whole_part_sync(w->descriptor);
  const int  error     = errno;
  const bool is_closed = !close_part(w);
  if (!is_synced) {
    errno = error;
  }
  return (is_synced && is_closed) ||
         fail_with(f, "%s: cannot be completed (%s)", w->path, strerror(errno));
}

/// Notes that it has its name
static void
forget_part(whole_file* w)
{
  whole_exit_complete(&w->exit);
  free(w->part_path);
  w->part_path = NULL;
}

static bool
take_place(whole_file* w, failure* f)
{
  return !rename(w->part_path, w->path) ||
         fail_with(f, "%s: cannot be renamed into place (%s)", w->path,
                   strerror(errno));
}

bool
whole_file_finish(whole_file* w, failure* f)
{
  bool ok = complete(w, f) && take_place(w, f);
  if (ok) {
    forget_part(w);
    ok = whole_part_sync_place(w->path, f);
  }
  whole_file_abandon(w);
  return ok;
}

/// Where the older file is while the new one has its place
typedef enum { NO_OLDER, OLDER_IN_PART, OLDER_ASIDE } older_place;

/// Renames the part into place and keeps the older file: as the part if the two
/// can be swapped, else as `aside`
static bool
take_place_of(whole_file* w, const char* aside, older_place* older, failure* f)
{
  struct stat status;
  *older = NO_OLDER;
  if (lstat(w->path, &status)) {
    return take_place(w, f);
  }
  if (whole_part_exchange(w->part_path, w->path)) {
    *older = OLDER_IN_PART;
    return true;
  }
  // A second name, so that there is always a file; if there can be none, its
  // only one
  if (link(w->path, aside) && rename(w->path, aside)) {
    return fail_with(f, "%s: cannot be renamed into place (%s)", w->path,
                     strerror(errno));
  }
  *older = OLDER_ASIDE;
  if (take_place(w, f)) {
    return true;
  }
  (void)rename(aside, w->path);
  (void)unlink(aside); // rename() leaves two names of one file
  return false;
}

static void
give_back(const whole_file* w, const char* aside, older_place older)
{
  switch (older) {
    case NO_OLDER:
      (void)unlink(w->path);
      break;
    case OLDER_IN_PART:
      (void)rename(w->part_path, w->path);
      break;
    case OLDER_ASIDE:
      (void)rename(aside, w->path);
      break;
  }
}

bool
whole_file_finish_both(whole_file* first, whole_file* second, failure* f)
{
  older_place older = NO_OLDER;
  char* const aside = alloc_print("%s" WHOLE_PART_OLD, first->part_path);
  bool        ok    = complete(first, f) && complete(second, f) &&
            take_place_of(first, aside, &older, f);
  if (ok && !take_place(second, f)) {
    give_back(first, aside, older);
    ok = false;
  } else if (ok) {
    (void)unlink(older == OLDER_IN_PART ? first->part_path : aside);
    forget_part(first);
    forget_part(second);
    ok = whole_part_sync_place(first->path, f) &&
         whole_part_sync_place(second->path, f);
  }
  free(aside);
  whole_file_abandon(first);
  whole_file_abandon(second);
  return ok;
}

void
whole_file_abandon(whole_file* w)
{
  if (w) {
    (void)close_part(w);
    if (w->part_path) {
      (void)unlink(w->part_path);
      whole_exit_abandon(&w->exit);
      free(w->part_path);
    }
    free(w->path);
    free(w);
  }
}
