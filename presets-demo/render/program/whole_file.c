// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "whole_file.h"

#include "alloc.h"
#include "whole_part.h"

#include <errno.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

struct whole_file {
  char* path;
  char* part_path;  ///< Until it is complete
  int   descriptor; ///< -1 once it is closed
  FILE* stream;     ///< Of the descriptor, or NULL
};

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
  w->part_path  = whole_part_path(w->path);
  w->descriptor = mkstemp(w->part_path);
  if (w->descriptor < 0) {
    (void)fail_with(f, "%s: cannot write in that folder (%s)", w->path,
                    strerror(errno));
    free(w->part_path);
    w->part_path = NULL;
    return false;
  }
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

/// Syncs the part to disk and closes it; returns false with errno
static bool
complete(whole_file* w)
{
  const bool is_written =
    !w->stream || (!fflush(w->stream) && !ferror(w->stream));
  const bool is_synced = is_written && whole_part_sync(w->descriptor);
  const int  error     = errno;
  const bool is_closed = !close_part(w);
  if (!is_synced) {
    errno = error;
  }
  return is_synced && is_closed;
}

bool
whole_file_finish(whole_file* w, failure* f)
{
  bool ok = false;
  if (!complete(w)) {
    (void)fail_with(f, "%s: cannot be completed (%s)", w->path,
                    strerror(errno));
  } else if (rename(w->part_path, w->path)) {
    (void)fail_with(f, "%s: cannot be renamed into place (%s)", w->path,
                    strerror(errno));
  } else {
    free(w->part_path);
    w->part_path = NULL;
    ok           = whole_part_sync_place(w->path, f);
  }
  whole_file_abandon(w);
  return ok;
}

void
whole_file_abandon(whole_file* w)
{
  if (w) {
    (void)close_part(w);
    if (w->part_path) {
      (void)unlink(w->part_path);
    }
    free(w->part_path);
    free(w->path);
    free(w);
  }
}
