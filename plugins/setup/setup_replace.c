// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "setup_replace.h"

#include <errno.h>
#include <limits.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#define NEW_MODE 0666U

/// Rights of the file that will be replaced, or of a new one
static mode_t
wanted_mode(const char* path)
{
  struct stat status;
  if (!stat(path, &status)) {
    return status.st_mode & 07777U;
  }
  const mode_t mask = umask(0);
  (void)umask(mask);
  return NEW_MODE & ~mask;
}

/// Writes all of it to the disk
static bool
write_whole(int file, const char* text, size_t length)
{
  while (length) {
    const ssize_t n = write(file, text, length);
    if (n < 0 && errno != EINTR) {
      return false;
    }
    text += n > 0 ? n : 0;
    length -= n > 0 ? (size_t)n : 0;
  }
  return !fsync(file);
}

static bool
fill(const char* path,
     int         file,
     const char* real,
     const char* text,
     size_t      length,
     failure*    f)
{
  const bool ok =
    write_whole(file, text, length) && !fchmod(file, wanted_mode(real));
  const int why = errno;
  return (!close(file) && ok) || fail_with(f, "%s: cannot be written (%s)",
                                           path, strerror(ok ? errno : why));
}

bool
setup_replace(const char*         path,
              const char*         text,
              size_t              length,
              setup_replace_check check,
              const void*         user,
              failure*            f)
{
  char              beside[PATH_MAX + 16];
  char              resolved[PATH_MAX];
  const char* const real = realpath(path, resolved) ? resolved : path;
  // In the same folder, where `from` leads to the same files; not an .ini
  const int n    = snprintf(beside, sizeof(beside), "%s.XXXXXX", real);
  const int file = n > 0 && (size_t)n < sizeof(beside) ? mkstemp(beside) : -1;
  if (file < 0) {
    return fail_with(f, "%s: cannot be written (%s)", path, strerror(errno));
  }
  bool ok = fill(path, file, real, text, length, f) && check(beside, user, f);
  if (ok && rename(beside, real)) {
    ok = fail_with(f, "%s: cannot be replaced (%s)", path, strerror(errno));
  }
  if (!ok) {
    (void)unlink(beside);
  }
  return ok;
}
