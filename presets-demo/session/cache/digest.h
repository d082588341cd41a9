// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// A number for a content: XXH128 of libxxhash, the same on every machine.
///
/// 128 bits tell any contents apart that come about by themselves: among a
/// million, two are alike by chance once in 10^26 times.  It is no protection
/// against someone who makes contents to be taken for others.

#ifndef PRESETS_DEMO_SESSION_CACHE_DIGEST_H
#define PRESETS_DEMO_SESSION_CACHE_DIGEST_H

#include "plugins/text/failure.h"

#include <signal.h>
#include <stddef.h>
#include <stdint.h>

typedef struct digest digest;

typedef struct {
  uint64_t high, low;
} digest_value;

#define DIGEST_TEXT_SIZE 33U

/// Never returns NULL
digest*
digest_new(void);

/// Frees it; returns the digest of all that was added
digest_value
digest_end(digest* d);

void
digest_add(digest* d, const void* bytes, size_t n);

/// Adds a text with its end, so that "ab", "c" is not "a", "bc"
void
digest_add_text(digest* d, const char* text);

void
digest_add_number(digest* d, double number);

void
digest_add_count(digest* d, uint64_t count);

void
digest_add_value(digest* d, digest_value value);

/// Adds the bytes of a file, read now, and their number.  Returns false with a
/// failure, an empty one if stopped.
bool
digest_add_file(digest*                      d,
                const char*                  path,
                const volatile sig_atomic_t* stop,
                failure*                     f);

bool
digest_is_same(digest_value a, digest_value b);

/// Writes 32 hexadecimal digits, and their end
void
digest_print(digest_value value, char text[DIGEST_TEXT_SIZE]);

#endif // PRESETS_DEMO_SESSION_CACHE_DIGEST_H
