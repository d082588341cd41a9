// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Sound files that were cut or changed in transfer

#ifndef TESTS_SUPPORT_DAMAGED_AUDIO_H
#define TESTS_SUPPORT_DAMAGED_AUDIO_H

#include "fuzz.h"

#include "presets-demo/render/audio/audio_in.h"

#include <sndfile.h>

#include <math.h>
#include <unistd.h>

#define DAMAGED_FRAMES 300
#define DAMAGED_BYTES  8192

/// One of each kind that the renderer reads and writes
static const struct {
  const char* name;
  int         format;
  int         n_channels;
} damaged_kinds[] = {
  {"wav 16", SF_FORMAT_WAV | SF_FORMAT_PCM_16, 1},
  {"wav 24", SF_FORMAT_WAV | SF_FORMAT_PCM_24, 2},
  {"wav float", SF_FORMAT_WAV | SF_FORMAT_FLOAT, 2},
  {"flac 16", SF_FORMAT_FLAC | SF_FORMAT_PCM_16, 2},
  {"flac 24", SF_FORMAT_FLAC | SF_FORMAT_PCM_24, 1},
  {"aiff 16", SF_FORMAT_AIFF | SF_FORMAT_PCM_16, 1},
  {"aiff 24", SF_FORMAT_AIFF | SF_FORMAT_PCM_24, 2},
  {"rf64", SF_FORMAT_RF64 | SF_FORMAT_PCM_24, 1},
};

#define DAMAGED_N_KINDS (sizeof(damaged_kinds) / sizeof(damaged_kinds[0]))

/// The bytes of a file
typedef struct {
  uint8_t data[DAMAGED_BYTES];
  size_t  size;
} file_bytes;

static inline void
file_write(const char* name, const uint8_t* data, size_t size)
{
  FILE* const f = fopen(name, "wb");
  FUZZ_CHECK(f && fwrite(data, 1, size, f) == size && !fclose(f), "%s", name);
}

static inline void
file_read(const char* name, file_bytes* b)
{
  FILE* const f = fopen(name, "rb");
  FUZZ_CHECK(f, "%s", name);
  b->size = fread(b->data, 1, sizeof(b->data), f);
  FUZZ_CHECK(b->size < sizeof(b->data), "%s is too long", name);
  (void)fclose(f);
}

/// Returns a good file of a kind, as bytes
static inline void
damaged_make(size_t kind, file_bytes* b)
{
  float   x[2 * DAMAGED_FRAMES];
  SF_INFO info = {.samplerate = 48000,
                  .channels   = damaged_kinds[kind].n_channels,
                  .format     = damaged_kinds[kind].format};
  for (int i = 0; i < 2 * DAMAGED_FRAMES; ++i) {
    x[i] = 0.5F * sinf(0.05F * (float)i) + 0.1F * sinf(1.7F * (float)(i * i));
  }
  SNDFILE* const f = sf_open("good", SFM_WRITE, &info);
  FUZZ_CHECK(f, "%s", sf_strerror(NULL));
  FUZZ_CHECK(sf_writef_float(f, x, DAMAGED_FRAMES) == DAMAGED_FRAMES, "good");
  FUZZ_CHECK(!sf_close(f), "good");
  file_read("good", b);
  (void)unlink("good");
}

/// Result of reading
typedef struct {
  failure f;
  int64_t n; ///< Frames; -1: refused, with the reason in `f`
  float   x[2][DAMAGED_FRAMES];
} reading;

static inline void
damaged_check_finite(float* const* x, uint32_t n_channels, int64_t n)
{
  for (int64_t i = 0; i < n; ++i) {
    for (uint32_t k = 0; k < n_channels; ++k) {
      FUZZ_CHECK(isfinite(x[k][i]), "frame %lld of channel %u", (long long)i,
                 k);
    }
  }
}

/// Reads to the end, the first frames into `r`
static inline void
damaged_read_all(audio_in* a, int64_t n_limit, reading* r)
{
  static float   more[2][DAMAGED_FRAMES];
  const uint32_t n_channels = audio_in_get_info(a).n_channels;
  float* const   first[]    = {r->x[0], r->x[1]};
  float* const   rest[]     = {more[0], more[1]};
  int64_t        now        = 0;
  FUZZ_CHECK(n_channels == 1 || n_channels == 2, "%u channels", n_channels);
  r->n = 0;
  do {
    float* const* const x = r->n ? rest : first;
    now                   = audio_in_read(a, x, DAMAGED_FRAMES, &r->f);
    damaged_check_finite(x, n_channels, now);
    r->n = now < 0 ? -1 : r->n + now;
    FUZZ_CHECK(r->n <= n_limit, "no end");
  } while (now > 0);
}

/// Reads all of `bytes` as a sound file, called `name` in the working folder.
/// It may be refused, with one line that begins with the file's name; the
/// samples read are finite, and no more than fit into so many bytes.
static inline void
damaged_read(const char*    name,
             const uint8_t* bytes,
             size_t         size,
             double         rate_hz,
             reading*       r)
{
  file_write(name, bytes, size);
  *r                = (reading){.n = -1};
  audio_in* const a = audio_in_open(name, rate_hz, &r->f);
  if (a) {
    // FLAC holds 65535 equal frames in a dozen bytes; rate conversion makes at
    // most 48 of each
    damaged_read_all(a, (int64_t)size * 65535 * 48, r);
    audio_in_close(a);
  }
  if (r->n < 0) {
    const size_t length = strlen(name);
    FUZZ_CHECK(!strncmp(r->f.text, name, length) && r->f.text[length] == ':' &&
                 !strchr(r->f.text, '\n'),
               "'%s'", r->f.text);
  }
  (void)unlink(name);
}

#endif // TESTS_SUPPORT_DAMAGED_AUDIO_H
