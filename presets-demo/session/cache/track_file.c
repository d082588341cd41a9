// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "track_file.h"

#include "presets-demo/render/program/alloc.h"

#include <xxhash.h>

#include <errno.h>
#include <fcntl.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

/// Longer blocks are not written; a header that asks for more is damaged
#define MOST_BYTES (UINT64_MAX / 8U)

struct track_file_in {
  char*          path;
  int            descriptor;
  track_header   header;
  unsigned char* head;
  unsigned char* facts;
  float*         chunk;  ///< With its checksum
  uint64_t       n_read; ///< Chunks since the sound began
  uint64_t       at;     ///< Frames that were taken
};

uint64_t
track_file_sum(digest_value key, uint64_t place, const void* bytes, size_t n)
{
  return XXH3_64bits_withSeed(bytes, n, key.low ^ place);
}

size_t
track_file_chunk_bytes(const track_header* h)
{
  return (size_t)h->n_channels * TRACK_CHUNK_FRAMES * sizeof(float) +
         sizeof(uint64_t);
}

static uint64_t
n_chunks(const track_header* h)
{
  return h->n_frames / TRACK_CHUNK_FRAMES +
         (h->n_frames % TRACK_CHUNK_FRAMES != 0);
}

bool
track_file_read_all(int descriptor, void* to, size_t n)
{
  size_t done = 0;
  while (done < n) {
    errno             = 0;
    const ssize_t now = read(descriptor, (char*)to + done, n - done);
    if (!now || (now < 0 && errno != EINTR)) {
      return false;
    }
    done += now > 0 ? (size_t)now : 0;
  }
  return true;
}

static bool
is_whole(const track_header* h)
{
  return h->sum == track_file_sum(h->key, TRACK_PLACE_HEADER, h,
                                  offsetof(track_header, sum)) &&
         h->n_channels >= 1 && h->n_channels <= 2 && h->n_head < MOST_BYTES &&
         h->n_facts < MOST_BYTES &&
         n_chunks(h) < MOST_BYTES / track_file_chunk_bytes(h);
}

static uint64_t
length_of(const track_header* h)
{
  return sizeof(*h) + h->n_head + n_chunks(h) * track_file_chunk_bytes(h) +
         h->n_facts;
}

static bool
check_header(track_file_in* t, digest_value key, failure* f)
{
  track_header* const h = &t->header;
  struct stat         status;
  if (fstat(t->descriptor, &status) || !S_ISREG(status.st_mode) ||
      !track_file_read_all(t->descriptor, h, sizeof(*h)) ||
      memcmp(h->magic, TRACK_MAGIC, sizeof(h->magic)) != 0) {
    return fail_with(f, "is not the file of a track");
  }
  if (h->version != TRACK_VERSION || h->order != TRACK_ORDER ||
      h->chunk_frames != TRACK_CHUNK_FRAMES) {
    return fail_with(f, "is of another version");
  }
  if (!is_whole(h)) {
    return fail_with(f, "is damaged in its header");
  }
  if (!digest_is_same(h->key, key)) {
    return fail_with(f, "is the file of another track");
  }
  return (uint64_t)status.st_size == length_of(h) ||
         fail_with(f, "is damaged: %lld bytes instead of %llu",
                   (long long)status.st_size, (unsigned long long)length_of(h));
}

/// Reads bytes that are no sound, and checks them
static bool
read_block(const track_file_in* t,
           unsigned char**      bytes,
           uint64_t             n,
           uint64_t             place,
           uint64_t             sum,
           failure*             f)
{
  *bytes = alloc_new(n + 1, 1);
  return (track_file_read_all(t->descriptor, *bytes, n) &&
          track_file_sum(t->header.key, place, *bytes, n) == sum) ||
         fail_with(f, "is damaged in its figures");
}

/// Reads the next chunk and checks it
static bool
read_chunk(track_file_in* t, failure* f)
{
  const size_t   bytes = track_file_chunk_bytes(&t->header);
  const size_t   sound = bytes - sizeof(uint64_t);
  const bool     ok    = track_file_read_all(t->descriptor, t->chunk, bytes);
  const uint64_t is =
    track_file_sum(t->header.key, t->n_read++, t->chunk, sound);
  return (ok && !memcmp((const char*)t->chunk + sound, &is, sizeof(is))) ||
         fail_with(f, "is damaged in its sound");
}

static bool
check_sound(track_file_in* t, const volatile sig_atomic_t* stop, failure* f)
{
  bool ok  = true;
  t->chunk = alloc_new(track_file_chunk_bytes(&t->header), 1);
  for (uint64_t i = 0; ok && i < n_chunks(&t->header); ++i) {
    ok = *stop ? fail_with(f, "%s", "") : read_chunk(t, f);
  }
  return ok;
}

/// Goes back to where the sound begins
static bool
begin_sound(track_file_in* t, failure* f)
{
  const off_t from = (off_t)(sizeof(t->header) + t->header.n_head);
  t->n_read        = 0;
  return lseek(t->descriptor, from, SEEK_SET) == from ||
         fail_with(f, "cannot be read (%s)", strerror(errno));
}

static bool
check_all(track_file_in*               t,
          digest_value                 key,
          const volatile sig_atomic_t* stop,
          failure*                     f)
{
  const track_header* const h = &t->header;
  return check_header(t, key, f) &&
         read_block(t, &t->head, h->n_head, TRACK_PLACE_HEAD, h->head_sum, f) &&
         check_sound(t, stop, f) &&
         read_block(t, &t->facts, h->n_facts, TRACK_PLACE_FACTS, h->facts_sum,
                    f) &&
         begin_sound(t, f);
}

track_file_in*
track_file_open(const char*                  path,
                digest_value                 key,
                const volatile sig_atomic_t* stop,
                failure*                     f)
{
  const int descriptor = open(path, O_RDONLY | O_CLOEXEC | O_NONBLOCK);
  if (descriptor < 0) {
    (void)(errno == ENOENT
             ? fail_with(f, "%s", "")
             : fail_with(f, "cannot be opened (%s)", strerror(errno)));
    return NULL;
  }
  track_file_in* const t = alloc_new(1, sizeof(*t));
  t->path                = alloc_copy(path);
  t->descriptor          = descriptor;
  if (!check_all(t, key, stop, f)) {
    track_file_close(t);
    return NULL;
  }
  (void)futimens(descriptor, NULL); // What was used last is cleaned up last
  return t;
}

void
track_file_close(track_file_in* t)
{
  if (t) {
    track_file_forget(t);
    (void)close(t->descriptor);
    free(t->chunk);
    free(t->path);
    free(t);
  }
}

const track_header*
track_file_header(const track_file_in* t)
{
  return &t->header;
}

unsigned char*
track_file_head(const track_file_in* t)
{
  return t->head;
}

unsigned char*
track_file_facts(const track_file_in* t)
{
  return t->facts;
}

void
track_file_forget(track_file_in* t)
{
  free(t->head);
  free(t->facts);
  t->head  = NULL;
  t->facts = NULL;
}

bool
track_file_read(track_file_in* t, float* const* x, uint32_t n, failure* f)
{
  for (uint32_t i = 0; i < n;) {
    const uint32_t in_chunk = (uint32_t)(t->at % TRACK_CHUNK_FRAMES);
    const uint32_t room     = TRACK_CHUNK_FRAMES - in_chunk;
    const uint32_t now      = n - i < room ? n - i : room;
    const bool     is_past  = t->n_read == n_chunks(&t->header) && !in_chunk;
    if (is_past) {
      for (uint32_t k = 0; k < t->header.n_channels; ++k) {
        memset(x[k] + i, 0, (n - i) * sizeof(float));
      }
      return true;
    }
    if (!in_chunk && !read_chunk(t, f)) {
      const failure what = *f;
      return fail_with(f, "%s: %s since it was opened", t->path, what.text);
    }
    for (uint32_t k = 0; k < t->header.n_channels; ++k) {
      memcpy(x[k] + i, t->chunk + (size_t)k * TRACK_CHUNK_FRAMES + in_chunk,
             now * sizeof(float));
    }
    t->at += now;
    i += now;
  }
  return true;
}
