// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// A track as it comes out of its setup: 32-bit float sound, with the figures
/// that a mix and its report need, in one file that checks itself.
///
///   header   track_header, below
///   head     bytes that are known before the sound
///   chunks   TRACK_CHUNK_FRAMES of each channel, one channel after the other,
///            then their checksum; as many as hold all frames, the last filled
///            up with zeroes
///   facts    bytes that are known behind the sound
///
/// Numbers are in the order of the machine that wrote them; a file in another
/// order counts as one of another version.  Checksums are XXH3 in 64 bits, with
/// a seed made of the key and the place, so that no chunk passes for another.

#ifndef PRESETS_DEMO_SESSION_CACHE_TRACK_FILE_H
#define PRESETS_DEMO_SESSION_CACHE_TRACK_FILE_H

#include "digest.h"

#define TRACK_CHUNK_FRAMES 8192U
#define TRACK_MAGIC        "DUSTTRK\n"
#define TRACK_VERSION      1U
#define TRACK_ORDER        0x01020304U

/// 88 bytes without gaps
typedef struct {
  char         magic[8];
  uint32_t     version;
  uint32_t     order;
  digest_value key;
  uint64_t     n_frames;
  uint64_t     n_head, head_sum;
  uint64_t     n_facts, facts_sum;
  uint32_t     n_channels; ///< 1 or 2
  uint32_t     chunk_frames;
  uint64_t     sum; ///< Of all above
} track_header;

// ---------------------------------------------------------------------------
// Writing

typedef struct track_file_out track_file_out;

/// Begins a file with the key, frames and channels of `wanted`; it gets its
/// name when it is complete.  Returns NULL with a failure.
track_file_out*
track_file_create(const char*         path,
                  const track_header* wanted,
                  const void*         head,
                  size_t              n_head,
                  failure*            f);

/// Adds frames; those beyond the end are left out
bool
track_file_write(track_file_out*     t,
                 const float* const* x,
                 uint32_t            n,
                 failure*            f);

/// Completes the file, gives it its name, and frees `t`
bool
track_file_finish(track_file_out* t,
                  const void*     facts,
                  size_t          n_facts,
                  failure*        f);

/// Removes what was written, and frees `t`, which may be NULL
void
track_file_abandon(track_file_out* t);

// ---------------------------------------------------------------------------
// Reading

typedef struct track_file_in track_file_in;

/// Opens a file and checks every byte of it.  Returns NULL with a failure: an
/// empty one if there is no such file, or if stopped; else what is wrong.
track_file_in*
track_file_open(const char*                  path,
                digest_value                 key,
                const volatile sig_atomic_t* stop,
                failure*                     f);

void
track_file_close(track_file_in* t);

const track_header*
track_file_header(const track_file_in* t);

/// Returns the bytes before the sound, and those behind it, until
/// track_file_forget()
unsigned char*
track_file_head(const track_file_in* t);

unsigned char*
track_file_facts(const track_file_in* t);

/// Frees these bytes; the sound stays
void
track_file_forget(track_file_in* t);

/// Reads the next frames, silence behind the last.  Returns false if the file
/// is no longer as it was when it was opened.
bool
track_file_read(track_file_in* t, float* const* x, uint32_t n, failure* f);

// ---------------------------------------------------------------------------
// For both

/// Places of what is no chunk
#define TRACK_PLACE_HEADER UINT64_MAX
#define TRACK_PLACE_HEAD   (UINT64_MAX - 1U)
#define TRACK_PLACE_FACTS  (UINT64_MAX - 2U)

/// Returns the checksum of bytes at a place: the number of a chunk, or one of
/// those above
uint64_t
track_file_sum(digest_value key, uint64_t place, const void* bytes, size_t n);

/// Returns the bytes of a chunk, its checksum included
size_t
track_file_chunk_bytes(const track_header* h);

/// Reads or writes all of `n` bytes at the descriptor's position; returns false
/// with errno, which is 0 at the end of a file
bool
track_file_read_all(int descriptor, void* to, size_t n);

bool
track_file_write_all(int descriptor, const void* from, size_t n);

#endif // PRESETS_DEMO_SESSION_CACHE_TRACK_FILE_H
