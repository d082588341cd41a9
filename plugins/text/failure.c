// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "failure.h"

#include "printable_copy.h"

#include <stdarg.h>
#include <stdio.h>

bool
fail_with(failure* f, const char* format, ...)
{
  char    text[sizeof(f->text)];
  va_list args;
  va_start(args, format);
  // Clang 14's checker forgets va_start() from its second file of a run on
  // NOLINTNEXTLINE(clang-analyzer-valist.Uninitialized)
  (void)vsnprintf(text, sizeof(text), format, args);
  va_end(args);
  printable_copy(f->text, sizeof(f->text), text);
  return false;
}

bool
fail_of_memory(failure* f)
{
  return fail_with(f, "out of memory");
}
