// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Values in a row of bytes.  One function lists them for both directions, so
/// that what is read is what was written: each call takes its value from the
/// variable, or puts it there.
///
/// Reading never goes beyond the end: a pack that is too short has failed, and
/// leaves zeroes.

#ifndef PRESETS_DEMO_SESSION_CACHE_PACK_H
#define PRESETS_DEMO_SESSION_CACHE_PACK_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

typedef struct {
  unsigned char* bytes;
  size_t         n;    ///< Bytes written, or to read
  size_t         room; ///< While writing
  size_t         at;   ///< Bytes read so far
  bool           is_reading;
  bool           has_failed;
} pack;

/// Returns a pack to write to; free() its bytes
pack
pack_to_write(void);

/// Returns a pack that reads `n` bytes, which must outlive it
pack
pack_to_read(unsigned char* bytes, size_t n);

void
pack_count(pack* p, uint64_t* count);

/// A count below 2^32
void
pack_small(pack* p, uint32_t* count);

void
pack_numbers(pack* p, double* numbers, size_t n);

void
pack_samples(pack* p, float* samples, size_t n);

/// A text that fits `size` with its end; a longer one fails
void
pack_text(pack* p, char* text, size_t size);

/// While reading: returns zeroed memory for `n` elements of `size`, to be
/// freed, or NULL, failed if so many cannot follow.  While writing: returns
/// `there`.
void*
pack_room(pack* p, void* there, size_t n, size_t size);

/// Returns whether all was read without a fault
bool
pack_is_read(const pack* p);

#endif // PRESETS_DEMO_SESSION_CACHE_PACK_H
