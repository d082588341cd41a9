// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "failure.h"

#include <errno.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>

bool
fail_with(failure* f, const char* format, ...)
{
  va_list args;
  va_start(args, format);
  // Clang 14's checker forgets va_start() from its second file of a run on
  // NOLINTNEXTLINE(clang-analyzer-valist.Uninitialized)
  (void)vsnprintf(f->text, sizeof(f->text), format, args);
  va_end(args);

  // A file name may hold any character; the message stays one line
  for (char* c = f->text; *c; ++c) {
    if ((unsigned char)*c < 0x20 || *c == 0x7F) {
      *c = '?';
    }
  }
  return false;
}

bool
output_is_printed(failure* f)
{
  const bool has_failed = ferror(stdout) != 0;
  return (!fflush(stdout) && !has_failed) ||
         fail_with(f, "standard output: cannot be written (%s)",
                   strerror(errno));
}
