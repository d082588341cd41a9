// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// An allocator that fails once, in front of that of the system (LD_PRELOAD):
/// FAIL_AT is the number of the call that fails, from 1, FAIL_NOTE a file that
/// is made when it comes.

#include <dlfcn.h>
#include <errno.h>
#include <fcntl.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

static void* (*real_malloc)(size_t);
static void* (*real_calloc)(size_t, size_t);
static void* (*real_realloc)(void*, size_t);
static void (*real_free)(void*);

static long n_calls;
static long fail_at;                  ///< 0 until it is known
static _Alignas(16) char early[4096]; ///< Before the real ones are known
static size_t n_early;

static void*
early_new(size_t size)
{
  void* const memory = early + n_early;
  n_early += (size + 15U) & ~(size_t)15U;
  return n_early <= sizeof(early) ? memory : NULL;
}

static int
is_early(const void* memory)
{
  return (uintptr_t)memory - (uintptr_t)early < sizeof(early);
}

static void
find(void* to, const char* name)
{
  void* const f = dlsym(RTLD_NEXT, name);
  memcpy(to, &f, sizeof(f));
}

static void
find_real(void)
{
  static int is_looking;
  if (!real_free && !is_looking) {
    is_looking = 1;
    find(&real_malloc, "malloc");
    find(&real_calloc, "calloc");
    find(&real_realloc, "realloc");
    find(&real_free, "free");
    is_looking = 0;
  }
}

/// Only what the program asks for counts, not how it is loaded
__attribute__((constructor)) static void
start(void)
{
  const char* const number = getenv("FAIL_AT");
  fail_at                  = number ? strtol(number, NULL, 10) : 0;
}

static int
is_failing(void)
{
  if (!fail_at ||
      __atomic_add_fetch(&n_calls, 1, __ATOMIC_SEQ_CST) != fail_at) {
    return 0;
  }
  const char* const note = getenv("FAIL_NOTE");
  const int to = note ? open(note, O_WRONLY | O_CREAT | O_CLOEXEC, 0644) : -1;
  if (to >= 0) {
    (void)close(to);
  }
  errno = ENOMEM;
  return 1;
}

// libc's headers name their parameters otherwise
// NOLINTBEGIN(readability-inconsistent-declaration-parameter-name)

void*
malloc(size_t size)
{
  find_real();
  if (!real_malloc) {
    return early_new(size);
  }
  return is_failing() ? NULL : real_malloc(size);
}

void*
calloc(size_t n, size_t size)
{
  find_real();
  if (!real_calloc) {
    return early_new(n * size);
  }
  return is_failing() ? NULL : real_calloc(n, size);
}

void*
realloc(void* memory, size_t size)
{
  if (is_early(memory)) {
    void* const  other = malloc(size);
    const size_t left  = (size_t)(early + sizeof(early) - (char*)memory);
    return other ? memcpy(other, memory, size < left ? size : left) : NULL;
  }
  find_real();
  return is_failing() ? NULL : real_realloc(memory, size);
}

void
free(void* memory)
{
  find_real();
  if (real_free && !is_early(memory)) {
    real_free(memory);
  }
}

// NOLINTEND(readability-inconsistent-declaration-parameter-name)
