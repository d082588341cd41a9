// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "digest.h"

#include "presets-demo/render/program/alloc.h"

#include <xxhash.h>

#include <errno.h>
#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#define READ_BYTES 262144U

struct digest {
  XXH3_state_t* state;
};

digest*
digest_new(void)
{
  digest* const d = alloc_new(1, sizeof(*d));
  d->state        = alloc_check(XXH3_createState());
  (void)XXH3_128bits_reset(d->state);
  return d;
}

digest_value
digest_end(digest* d)
{
  const XXH128_hash_t hash = XXH3_128bits_digest(d->state);
  (void)XXH3_freeState(d->state);
  free(d);
  return (digest_value){hash.high64, hash.low64};
}

void
digest_add(digest* d, const void* bytes, size_t n)
{
  (void)XXH3_128bits_update(d->state, bytes, n);
}

void
digest_add_text(digest* d, const char* text)
{
  digest_add(d, text, strlen(text) + 1);
}

void
digest_add_number(digest* d, double number)
{
  uint64_t bits = 0;
  memcpy(&bits, &number, sizeof(bits));
  digest_add_count(d, bits);
}

void
digest_add_count(digest* d, uint64_t count)
{
  unsigned char bytes[sizeof(count)]; // The same on machines of either order
  for (size_t i = 0; i < sizeof(bytes); ++i) {
    bytes[i] = (unsigned char)(count >> (8U * i));
  }
  digest_add(d, bytes, sizeof(bytes));
}

void
digest_add_value(digest* d, digest_value value)
{
  digest_add_count(d, value.high);
  digest_add_count(d, value.low);
}

/// Adds all that is left of an open file; returns its length, or -1
static int64_t
add_open(digest* d, int descriptor, const volatile sig_atomic_t* stop)
{
  unsigned char* const bytes = alloc_new(READ_BYTES, 1);
  int64_t              total = 0;
  for (ssize_t got = 1; got && total >= 0 && !*stop;) {
    got = read(descriptor, bytes, READ_BYTES);
    if (got > 0) {
      digest_add(d, bytes, (size_t)got);
      total += got;
    } else if (got < 0 && errno != EINTR) {
      total = -1;
    }
  }
  free(bytes);
  return total;
}

bool
digest_add_file(digest*                      d,
                const char*                  path,
                const volatile sig_atomic_t* stop,
                failure*                     f)
{
  const int     descriptor = open(path, O_RDONLY | O_CLOEXEC);
  const int64_t length = descriptor < 0 ? -1 : add_open(d, descriptor, stop);
  const int     error  = errno;
  if (descriptor >= 0) {
    (void)close(descriptor);
  }
  if (length < 0) {
    return fail_with(f, "%s: cannot be read (%s)", path, strerror(error));
  }
  digest_add_count(d, (uint64_t)length);
  return !*stop || fail_with(f, "%s", "");
}

bool
digest_is_same(digest_value a, digest_value b)
{
  return a.high == b.high && a.low == b.low;
}

void
digest_print(digest_value value, char text[DIGEST_TEXT_SIZE])
{
  (void)snprintf(text, DIGEST_TEXT_SIZE, "%016llx%016llx",
                 (unsigned long long)value.high, (unsigned long long)value.low);
}
