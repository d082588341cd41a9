// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Fuzz target: a damaged sound file.
///
/// A case is a kind of file, then places and what is written there (three bytes
/// each), or (kind 0x80 and above) the bytes of the file itself.  Promise: that
/// of damaged_read().

#include "fuzz_folder.h"
#include "tests/support/damaged_audio.h"

static void
leave(void)
{
  (void)rmdir(fuzz_folder);
}

int
LLVMFuzzerTestOneInput(const uint8_t* data, size_t size)
{
  static file_bytes   b;
  static reading      r;
  static const double rates[] = {0.0, 8000.0, 44100.0, 384000.0};
  fuzz_bytes          left    = {data, data + size};
  const uint32_t      kind    = fuzz_take(&left, 1);
  (void)fuzz_enter_folder(leave);
  if (kind & 0x80U) {
    damaged_read("take", left.at, (size_t)(left.end - left.at),
                 rates[kind % 4U], &r);
    return 0;
  }
  damaged_make(kind % DAMAGED_N_KINDS, &b);
  while (left.at < left.end) {
    const uint32_t place = fuzz_take(&left, 2);
    const uint32_t value = fuzz_take(&left, 1);
    if (place & 0x8000U) { // Cut there
      b.size = (place & 0x7FFFU) % (b.size + 1U);
    } else if (place < b.size) {
      b.data[place] = (uint8_t)value;
    }
  }
  damaged_read("take", b.data, b.size, rates[(kind >> 5U) % 4U], &r);
  return 0;
}
