// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// What a fuzz target needs.  Each target is a file with the entry point that
/// libFuzzer calls, LLVMFuzzerTestOneInput().  `./dev fuzz` builds it with
/// libFuzzer, which looks for new cases; the tests link it with
/// fuzz_replay.c, which plays the known ones and random ones.

#ifndef TESTS_SUPPORT_FUZZ_H
#define TESTS_SUPPORT_FUZZ_H

#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/// Any bytes are a case.  Returns 0; aborts when a promise is broken.
int
LLVMFuzzerTestOneInput(const uint8_t* data, size_t size);

/// Aborts, with a message, so that libFuzzer and the sanitizers notice it
#define FUZZ_CHECK(promise, ...)                   \
  do {                                             \
    if (!(promise)) {                              \
      fprintf(stderr, "\nbroken: %s\n", #promise); \
      fprintf(stderr, __VA_ARGS__);                \
      fprintf(stderr, "\n");                       \
      abort();                                     \
    }                                              \
  } while (0)

/// The rest of a case
typedef struct {
  const uint8_t* at;
  const uint8_t* end;
} fuzz_bytes;

/// Returns the next `n` bytes (4 at most), 0 where none are left
static inline uint32_t
fuzz_take(fuzz_bytes* b, int n)
{
  uint32_t x = 0;
  for (; n > 0; --n) {
    x = x << 8U | (b->at < b->end ? *b->at++ : 0U);
  }
  return x;
}

/// Returns the next four bytes as a float: any bits
static inline float
fuzz_take_float(fuzz_bytes* b)
{
  const uint32_t bits = fuzz_take(b, 4);
  float          x    = 0.0F;
  memcpy(&x, &bits, sizeof(x));
  return x;
}

#endif // TESTS_SUPPORT_FUZZ_H
