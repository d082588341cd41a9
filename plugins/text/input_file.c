// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "input_file.h"

#include <errno.h>
#include <fcntl.h>
#include <string.h>
#include <unistd.h>

const char*
input_file_fault(const struct stat* status)
{
  return S_ISDIR(status->st_mode)    ? "is a folder"
         : !S_ISREG(status->st_mode) ? "is not an ordinary file"
                                     : NULL;
}

static bool
check(const char* path, const struct stat* status, const char* kind, failure* f)
{
  const char* const fault = input_file_fault(status);
  if (fault) {
    return fail_with(f, "%s: %s; expected %s", path, fault, kind);
  }
  return status->st_size <= INPUT_FILE_MAX ||
         fail_with(f, "%s: %lld bytes; expected %s of at most %d", path,
                   (long long)status->st_size, kind, INPUT_FILE_MAX);
}

FILE*
input_file_open(const char* path, const char* kind, failure* f)
{
  struct stat status;
  if (stat(path, &status)) {
    const char* const why = errno == ENOENT ? "no such file" : strerror(errno);
    (void)fail_with(f, "%s: %s; expected %s", path, why, kind);
    return NULL;
  }
  if (!check(path, &status, kind, f)) { // Opening a device may do something
    return NULL;
  }
  // By now it may be another, such as a pipe, where open() would wait
  const int descriptor =
    open(path, O_RDONLY | O_NONBLOCK | O_NOCTTY | O_CLOEXEC);
  FILE* file = NULL;
  if (descriptor < 0 || fstat(descriptor, &status)) {
    (void)fail_with(f, "%s: %s; expected %s", path, strerror(errno), kind);
  } else if (check(path, &status, kind, f)) {
    file = fdopen(descriptor, "r");
    if (!file) {
      (void)fail_with(f, "%s: %s; expected %s", path, strerror(errno), kind);
    }
  }
  if (!file && descriptor >= 0) {
    (void)close(descriptor);
  }
  return file;
}
