// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Stand-ins for system calls: they note what is synced to disk and in which
/// order, and fail when asked to

#ifndef TESTS_RENDER_DISK_CALLS_H
#define TESTS_RENDER_DISK_CALLS_H

#include "tests/support/session_check.h"

#include <dlfcn.h>
#include <errno.h>

#define MAX_CALLS 256

typedef enum { SYNC, RENAME, EXCHANGE, REMOVE } call_kind;

typedef struct {
  call_kind kind;
  ino_t     file; ///< Of SYNC
  off_t     size;
  char      path[64]; ///< New one of a rename, or the one removed
} call;

static struct {
  call calls[MAX_CALLS];
  int  n;
  int  fail_kind; ///< -1: none
  int  fail_after;
  bool has_no_exchange; ///< As on some file systems
  bool has_visitor;     ///< Writes into the older folder at the last moment
} seen;

static inline void
forget_calls(void)
{
  memset(&seen, 0, sizeof(seen));
  seen.fail_kind = -1;
}

/// Makes the call of a kind fail that comes after `n` others
static inline void
let_fail(call_kind kind, int n)
{
  forget_calls();
  seen.fail_kind  = (int)kind;
  seen.fail_after = n;
}

/// Notes a call; returns false if it must fail
static inline bool
note(call_kind kind, int descriptor, const char* path)
{
  call* const c = &seen.calls[seen.n];
  struct stat s = {.st_ino = 0};
  if (descriptor >= 0) {
    assert_int_equal(fstat(descriptor, &s), 0);
  }
  c->kind = kind;
  c->file = s.st_ino;
  c->size = s.st_size;
  (void)snprintf(c->path, sizeof(c->path), "%s", path);
  assert_true(++seen.n < MAX_CALLS);
  return (int)kind != seen.fail_kind || seen.fail_after-- != 0;
}

static inline void*
next_of(const char* name)
{
  void* const f = dlsym(RTLD_NEXT, name);
  assert_non_null(f);
  return f;
}

// Other names than those of the headers
// NOLINTBEGIN(readability-inconsistent-declaration-parameter-name)
int
fsync(int descriptor)
{
  int (*real)(int);
  *(void**)&real = next_of("fsync");
  if (!note(SYNC, descriptor, "")) {
    errno = EIO;
    return -1;
  }
  return real(descriptor);
}

int
rename(const char* from, const char* to)
{
  int (*real)(const char*, const char*);
  *(void**)&real = next_of("rename");
  if (!note(RENAME, -1, to)) {
    errno = EIO;
    return -1;
  }
  return real(from, to);
}

#ifdef RENAME_EXCHANGE
int
renameat2(int          from_folder,
          const char*  from,
          int          to_folder,
          const char*  to,
          unsigned int flags)
{
  int (*real)(int, const char*, int, const char*, unsigned int);
  *(void**)&real = next_of("renameat2");
  if (seen.has_visitor) {
    write_text("out/mine.txt", "precious");
  }
  if (!note(EXCHANGE, -1, to) || seen.has_no_exchange) {
    errno = EINVAL;
    return -1;
  }
  return real(from_folder, from, to_folder, to, flags);
}
#endif

int
remove(const char* path)
{
  int (*real)(const char*);
  *(void**)&real = next_of("remove");
  (void)note(REMOVE, -1, path);
  return real(path);
}

int
unlinkat(int folder, const char* path, int flags)
{
  int (*real)(int, const char*, int);
  *(void**)&real = next_of("unlinkat");
  (void)note(REMOVE, -1, path);
  return real(folder, path, flags);
}
// NOLINTEND(readability-inconsistent-declaration-parameter-name)

static inline ino_t
file_of(const char* path)
{
  struct stat s;
  assert_int_equal(lstat(path, &s), 0);
  return s.st_ino;
}

static inline off_t
size_of(const char* path)
{
  struct stat s;
  assert_int_equal(lstat(path, &s), 0);
  return s.st_size;
}

/// Returns the position of the last call that syncs a file or folder before
/// call `end`, or -1
static inline int
last_sync(const char* path, int end)
{
  while (--end >= 0 && (seen.calls[end].kind != SYNC ||
                        seen.calls[end].file != file_of(path))) {
  }
  return end;
}

/// Returns the position of the call that gives `path` its name
static inline int
naming(const char* path)
{
  int i = 0;
  while (i < seen.n &&
         ((seen.calls[i].kind != RENAME && seen.calls[i].kind != EXCHANGE) ||
          strcmp(seen.calls[i].path, path) != 0)) {
    ++i;
  }
  if (i == seen.n) {
    fail_msg("%s never gets its name", path);
  }
  return i;
}

/// Checks that all of a file is synced before call `end`
static inline void
check_synced(const char* path, int end)
{
  const int at = last_sync(path, end);
  if (at < 0 || seen.calls[at].size != size_of(path)) {
    fail_msg("%s is not on the disk before it gets its name", path);
  }
}

/// Checks that the folder of a name is synced after the naming
static inline void
check_named(const char* folder, int at)
{
  if (last_sync(folder, seen.n) <= at) {
    fail_msg("%s is not on the disk with the new name", folder);
  }
}

#endif // TESTS_RENDER_DISK_CALLS_H
