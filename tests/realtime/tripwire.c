// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "tripwire.h"

#include <dlfcn.h>
#include <fcntl.h>
#include <malloc.h>
#include <poll.h>
#include <pthread.h>
#include <sched.h>
#include <semaphore.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/mman.h>
#include <time.h>
#include <unistd.h>

// In memory that a thread has from its start, so that reading it calls nothing
static _Thread_local bool armed __attribute__((tls_model("initial-exec")));

void
tripwire_arm(bool is_armed)
{
  armed = is_armed;
}

static void
say(const char* text)
{
  static ssize_t (*real_write)(int, const void*, size_t);
  if (!real_write) {
    *(void**)&real_write = dlsym(RTLD_NEXT, "write");
  }
  (void)!real_write(STDERR_FILENO, text, strlen(text));
}

static void
pass(const char* name)
{
  if (armed) {
    armed = false;
    say("tripwire: ");
    say(name);
    say("() was called on the audio thread\n");
    abort();
  }
}

static void*
real(const char* name)
{
  void* const f = dlsym(RTLD_NEXT, name);
  if (!f) {
    say("tripwire: no such function: ");
    say(name);
    say("\n");
    _exit(1);
  }
  return f;
}

// Functions of the C library by their own names, some of which its headers also
// define inline; the analyser does not follow va_start() in them
// NOLINTBEGIN(readability-inconsistent-declaration-parameter-name)
// NOLINTBEGIN(bugprone-reserved-identifier,cert-dcl37-c,cert-dcl51-cpp)
// NOLINTBEGIN(bugprone-macro-parentheses,clang-diagnostic-static-in-inline)
// NOLINTBEGIN(clang-analyzer-valist.Uninitialized)

// ---------------------------------------------------------------------------
// Heap, by its internal names, because dlsym() may need it

void* __libc_malloc(size_t);
void* __libc_calloc(size_t, size_t);
void*
      __libc_realloc(void*, size_t);
void* __libc_memalign(size_t, size_t);
void
__libc_free(void*);

void*
malloc(size_t size)
{
  pass("malloc");
  return __libc_malloc(size);
}

void*
calloc(size_t n, size_t size)
{
  pass("calloc");
  return __libc_calloc(n, size);
}

void*
realloc(void* block, size_t size)
{
  pass("realloc");
  return __libc_realloc(block, size);
}

void
free(void* block)
{
  pass("free");
  __libc_free(block);
}

void*
memalign(size_t alignment, size_t size)
{
  pass("memalign");
  return __libc_memalign(alignment, size);
}

void*
aligned_alloc(size_t alignment, size_t size)
{
  pass("aligned_alloc");
  return __libc_memalign(alignment, size);
}

int
posix_memalign(void** block, size_t alignment, size_t size)
{
  pass("posix_memalign");
  *block = __libc_memalign(alignment, size);
  return *block ? 0 : 12; // ENOMEM
}

// ---------------------------------------------------------------------------
// Functions with fixed arguments

#define WIRE(type, name, parameters, arguments) \
  type name parameters                          \
  {                                             \
    static type(*next) parameters;              \
    pass(#name);                                \
    if (!next) {                                \
      *(void**)&next = real(#name);             \
    }                                           \
    return next arguments;                      \
  }

// Locks and waiting
WIRE(int, pthread_mutex_lock, (pthread_mutex_t * m), (m))
WIRE(int, pthread_mutex_trylock, (pthread_mutex_t * m), (m))
WIRE(int, pthread_mutex_unlock, (pthread_mutex_t * m), (m))
WIRE(int, pthread_rwlock_rdlock, (pthread_rwlock_t * l), (l))
WIRE(int, pthread_rwlock_wrlock, (pthread_rwlock_t * l), (l))
WIRE(int, pthread_spin_lock, (pthread_spinlock_t * l), (l))
WIRE(int, pthread_cond_signal, (pthread_cond_t * c), (c))
WIRE(int, pthread_cond_wait, (pthread_cond_t * c, pthread_mutex_t* m), (c, m))
WIRE(int, pthread_once, (pthread_once_t * o, void (*f)(void)), (o, f))
WIRE(int,
     pthread_create,
     (pthread_t * t, const pthread_attr_t* a, void* (*f)(void*), void* data),
     (t, a, f, data))
WIRE(int, sem_wait, (sem_t * s), (s))
WIRE(int, sem_post, (sem_t * s), (s))
WIRE(int, sched_yield, (void), ())
WIRE(unsigned, sleep, (unsigned s), (s))
WIRE(int, usleep, (useconds_t us), (us))
WIRE(int, nanosleep, (const struct timespec* t, struct timespec* r), (t, r))
WIRE(int, poll, (struct pollfd * p, nfds_t n, int ms), (p, n, ms))

// Files and memory maps
WIRE(ssize_t, read, (int fd, void* to, size_t n), (fd, to, n))
WIRE(ssize_t, write, (int fd, const void* from, size_t n), (fd, from, n))
WIRE(int, close, (int fd), (fd))
WIRE(FILE*, fopen, (const char* path, const char* mode), (path, mode))
WIRE(int, fclose, (FILE * f), (f))
WIRE(size_t,
     fread,
     (void* to, size_t size, size_t n, FILE* f),
     (to, size, n, f))
WIRE(size_t,
     fwrite,
     (const void* from, size_t size, size_t n, FILE* f),
     (from, size, n, f))
WIRE(int, fflush, (FILE * f), (f))
WIRE(int, fputs, (const char* s, FILE* f), (s, f))
WIRE(int, fputc, (int c, FILE* f), (c, f))
WIRE(int, puts, (const char* s), (s))
WIRE(int, putchar, (int c), (c))
WIRE(int, putc, (int c, FILE* f), (c, f))
WIRE(int, munmap, (void* at, size_t n), (at, n))
WIRE(int, mprotect, (void* at, size_t n, int how), (at, n, how))
WIRE(void*,
     mmap,
     (void* at, size_t n, int how, int flags, int fd, off_t from),
     (at, n, how, flags, fd, from))
WIRE(char*, getenv, (const char* name), (name))

// ---------------------------------------------------------------------------
// Functions with variable arguments

int
open(const char* path, int flags, ...)
{
  static int (*next)(const char*, int, ...);
  pass("open");
  if (!next) {
    *(void**)&next = real("open");
  }
  va_list more;
  va_start(more, flags);
  const int mode = flags & O_CREAT ? va_arg(more, int) : 0;
  va_end(more);
  return next(path, flags, mode);
}

int
printf(const char* format, ...)
{
  pass("printf");
  va_list more;
  va_start(more, format);
  const int n = vprintf(format, more);
  va_end(more);
  return n;
}

int
fprintf(FILE* f, const char* format, ...)
{
  pass("fprintf");
  va_list more;
  va_start(more, format);
  const int n = vfprintf(f, format, more);
  va_end(more);
  return n;
}

// NOLINTEND(clang-analyzer-valist.Uninitialized)
// NOLINTEND(bugprone-macro-parentheses,clang-diagnostic-static-in-inline)
// NOLINTEND(bugprone-reserved-identifier,cert-dcl37-c,cert-dcl51-cpp)
// NOLINTEND(readability-inconsistent-declaration-parameter-name)
