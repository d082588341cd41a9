// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "alloc_guard.h"

#include "alloc.h"

#if HAVE_ALLOC_GUARD

#  include <dlfcn.h>
#  include <stdbool.h>
#  include <stdint.h>
#  include <stdlib.h>
#  include <string.h>

/// What looking for the real ones may itself ask for: older versions keep an
/// error text for dlsym()
static _Alignas(16) char early[4096];
static size_t n_early;

static void*
early_new(size_t size)
{
  void* const memory = early + n_early;
  n_early += (size + 15U) & ~(size_t)15U;
  return n_early <= sizeof(early) ? memory : NULL;
}

static bool
is_early(const void* memory)
{
  return (uintptr_t)memory - (uintptr_t)early < sizeof(early);
}

static struct {
  void* (*malloc)(size_t);
  void* (*calloc)(size_t, size_t);
  void* (*realloc)(void*, size_t);
  void (*free)(void*);
} real;

/// Before there is a second thread: the loader asks for memory.  False while
/// they are being looked for.
static bool
find_real(void)
{
  static bool is_looking;
  if (!real.free && !is_looking) {
    is_looking             = true;
    *(void**)&real.malloc  = dlsym(RTLD_NEXT, "malloc");
    *(void**)&real.calloc  = dlsym(RTLD_NEXT, "calloc");
    *(void**)&real.realloc = dlsym(RTLD_NEXT, "realloc");
    *(void**)&real.free    = dlsym(RTLD_NEXT, "free");
    is_looking             = false;
  }
  return real.free != NULL;
}

/// Nothing is an answer only to who asks for nothing
static void*
check(void* memory, size_t size)
{
  return memory || !size ? memory : alloc_check(NULL);
}

// libc's headers name their parameters otherwise
// NOLINTBEGIN(readability-inconsistent-declaration-parameter-name)

void*
malloc(size_t size)
{
  return check(find_real() ? real.malloc(size) : early_new(size), size);
}

void*
calloc(size_t n, size_t size)
{
  return check(find_real() ? real.calloc(n, size) : early_new(n * size),
               n && size);
}

void*
realloc(void* memory, size_t size)
{
  if (is_early(memory)) {
    const size_t left = (size_t)(early + sizeof(early) - (char*)memory);
    return memcpy(malloc(size), memory, size < left ? size : left);
  }
  return check(find_real() ? real.realloc(memory, size) : early_new(size),
               size);
}

void
free(void* memory)
{
  if (memory && !is_early(memory) && find_real()) {
    real.free(memory);
  }
}

// NOLINTEND(readability-inconsistent-declaration-parameter-name)

#endif
