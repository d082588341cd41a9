// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "track_file.h"

#include "presets-demo/render/program/alloc.h"
#include "presets-demo/render/program/whole_file.h"

#include <errno.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

struct track_file_out {
  whole_file*  whole;
  char*        path;
  track_header header;
  float*       chunk;    ///< With room for its checksum
  uint32_t     n_filled; ///< Frames in it
  uint64_t     n_done;   ///< Frames so far, those in the chunk included
  uint64_t     n_chunks; ///< Written
};

bool
track_file_write_all(int descriptor, const void* from, size_t n)
{
  size_t done = 0;
  while (done < n) {
    const ssize_t now = write(descriptor, (const char*)from + done, n - done);
    if (now < 0 && errno != EINTR) {
      return false;
    }
    done += now > 0 ? (size_t)now : 0;
  }
  return true;
}

static bool
write_some(const track_file_out* t, const void* from, size_t n, failure* f)
{
  return track_file_write_all(whole_file_descriptor(t->whole), from, n) ||
         fail_with(f, "%s: cannot be written (%s)", t->path, strerror(errno));
}

track_file_out*
track_file_create(const char*         path,
                  const track_header* wanted,
                  const void*         head,
                  size_t              n_head,
                  failure*            f)
{
  // Without its magic, so that nothing takes it for whole
  static const track_header none;
  track_file_out* const     t = alloc_new(1, sizeof(*t));
  track_header* const       h = &t->header;
  t->path                     = alloc_copy(path);
  *h                          = *wanted;
  h->version                  = TRACK_VERSION;
  h->order                    = TRACK_ORDER;
  h->chunk_frames             = TRACK_CHUNK_FRAMES;
  h->n_head                   = n_head;
  h->head_sum = track_file_sum(h->key, TRACK_PLACE_HEAD, head, n_head);
  t->chunk    = alloc_new(track_file_chunk_bytes(h), 1);
  t->whole    = whole_file_open(path, f);
  if (!t->whole || !write_some(t, &none, sizeof(none), f) ||
      !write_some(t, head, n_head, f)) {
    track_file_abandon(t);
    return NULL;
  }
  return t;
}

/// Writes the chunk, which begins anew with zeroes
static bool
end_chunk(track_file_out* t, failure* f)
{
  const size_t   bytes = track_file_chunk_bytes(&t->header);
  const size_t   sound = bytes - sizeof(uint64_t);
  const uint64_t sum =
    track_file_sum(t->header.key, t->n_chunks++, t->chunk, sound);
  memcpy((char*)t->chunk + sound, &sum, sizeof(sum));
  const bool ok = write_some(t, t->chunk, bytes, f);
  memset(t->chunk, 0, bytes);
  t->n_filled = 0;
  return ok;
}

bool
track_file_write(track_file_out*     t,
                 const float* const* x,
                 uint32_t            n,
                 failure*            f)
{
  const uint64_t left = t->header.n_frames - t->n_done;
  const uint32_t all  = left < n ? (uint32_t)left : n;
  bool           ok   = true;
  for (uint32_t i = 0; ok && i < all;) {
    const uint32_t room = TRACK_CHUNK_FRAMES - t->n_filled;
    const uint32_t now  = all - i < room ? all - i : room;
    for (uint32_t k = 0; k < t->header.n_channels; ++k) {
      memcpy(t->chunk + (size_t)k * TRACK_CHUNK_FRAMES + t->n_filled, x[k] + i,
             now * sizeof(float));
    }
    t->n_filled += now;
    t->n_done += now;
    i += now;
    ok = t->n_filled < TRACK_CHUNK_FRAMES || end_chunk(t, f);
  }
  return ok;
}

/// Writes the header, now that all is known
static bool
write_header(track_file_out* t, failure* f)
{
  track_header* const h = &t->header;
  memcpy(h->magic, TRACK_MAGIC, sizeof(h->magic));
  h->sum =
    track_file_sum(h->key, TRACK_PLACE_HEADER, h, offsetof(track_header, sum));
  return (!lseek(whole_file_descriptor(t->whole), 0, SEEK_SET) ||
          fail_with(f, "%s: cannot be written (%s)", t->path,
                    strerror(errno))) &&
         write_some(t, h, sizeof(*h), f);
}

bool
track_file_finish(track_file_out* t,
                  const void*     facts,
                  size_t          n_facts,
                  failure*        f)
{
  track_header* const h = &t->header;
  h->n_facts            = n_facts;
  h->facts_sum = track_file_sum(h->key, TRACK_PLACE_FACTS, facts, n_facts);
  bool ok =
    (t->n_done == h->n_frames || fail_with(f, "%s: lacks its end", t->path)) &&
    (!t->n_filled || end_chunk(t, f)) && write_some(t, facts, n_facts, f) &&
    write_header(t, f);
  if (ok) {
    ok       = whole_file_finish(t->whole, f);
    t->whole = NULL;
  }
  track_file_abandon(t);
  return ok;
}

void
track_file_abandon(track_file_out* t)
{
  if (t) {
    whole_file_abandon(t->whole);
    free(t->chunk);
    free(t->path);
    free(t);
  }
}
