// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "alloc.h"

#include "whole_exit.h"

#include <errno.h>
#include <pthread.h>
#include <stdarg.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

/// One thread leaves, at once: others may be at work, and what exit() calls is
/// not made for that
static _Noreturn void
leave(void)
{
  static pthread_mutex_t leaving = PTHREAD_MUTEX_INITIALIZER;
  (void)pthread_mutex_lock(&leaving);
  if (whole_exit_is_complete()) {
    (void)dprintf(STDERR_FILENO,
                  "%s: warning: out of memory, but the output is complete\n",
                  program_invocation_short_name);
    _exit(EXIT_SUCCESS);
  }
  whole_exit_remove_all();
  (void)dprintf(STDERR_FILENO, "%s: out of memory\n",
                program_invocation_short_name);
  _exit(EXIT_FAILURE);
}

void*
alloc_check(void* memory)
{
  if (!memory) {
    leave();
  }
  return memory;
}

void*
alloc_new(size_t n, size_t size)
{
  return alloc_check(calloc(n ? n : 1, size));
}

void*
alloc_grow(void* old, size_t n, size_t size)
{
  return alloc_check(n <= SIZE_MAX / size ? realloc(old, n * size) : NULL);
}

char*
alloc_copy(const char* text)
{
  return alloc_check(strdup(text));
}

char*
alloc_print(const char* format, ...)
{
  va_list args;
  va_start(args, format);
  // NOLINTNEXTLINE(clang-analyzer-valist.Uninitialized): it is, one line up
  const int length = vsnprintf(NULL, 0, format, args);
  va_end(args);

  char* const text = alloc_new((size_t)length + 1, 1);
  va_start(args, format);
  (void)vsnprintf(text, (size_t)length + 1, format, args);
  va_end(args);
  return text;
}
