// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "audio_out.h"

#include "audio_in.h"
#include "common/core/fastmath.h"
#include "out_bytes.h"
#include "presets-demo/render/program/alloc.h"
#include "presets-demo/render/program/path.h"
#include "presets-demo/render/program/whole_file.h"

#include <assert.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>

#define WRITE_FRAMES 1024U

// A RIFF chunk counts its bytes in 32 bits; above about 4 GB it must be RF64
// (EBU Tech 3306)
#define WAV_MAX_BYTES 4.2e9

struct audio_out {
  char*         path;
  whole_file*   whole;
  out_bytes     bytes;
  SNDFILE*      file;
  uint32_t      n_channels;
  sample_format samples;
  uint64_t      n_over;
  uint64_t      dither; ///< State of its random numbers
  int           ints[WRITE_FRAMES * AUDIO_MAX_CHANNELS];
  float         floats[WRITE_FRAMES * AUDIO_MAX_CHANNELS];
};

static double
size_bytes(const audio_out_spec* spec)
{
  const double sample_bytes = spec->samples == SAMPLES_16   ? 2.0
                              : spec->samples == SAMPLES_24 ? 3.0
                                                            : 4.0;
  return (double)spec->n_frames * spec->n_channels * sample_bytes;
}

/// Returns libsndfile's container for a file name, 0 if there is none
static int
container_of(const audio_out_spec* spec)
{
  const char* const ending = path_ending(spec->path);
  if (!strcasecmp(ending, ".wav")) {
    return size_bytes(spec) > WAV_MAX_BYTES ? SF_FORMAT_RF64 : SF_FORMAT_WAV;
  }
  if (!strcasecmp(ending, ".flac")) {
    return SF_FORMAT_FLAC;
  }
  return !strcasecmp(ending, ".aif") || !strcasecmp(ending, ".aiff")
           ? SF_FORMAT_AIFF
           : 0;
}

static bool
choose_format(const audio_out_spec* spec, SF_INFO* format, failure* f)
{
  const int container = container_of(spec);
  if (!container) {
    return fail_with(
      f, "%s: unknown kind of file; expected .wav, .flac or .aiff", spec->path);
  }
  if (container == SF_FORMAT_FLAC && spec->samples == SAMPLES_FLOAT) {
    return fail_with(f, "%s: FLAC cannot hold float; expected 16 or 24 bits",
                     spec->path);
  }
  const int samples = spec->samples == SAMPLES_16   ? SF_FORMAT_PCM_16
                      : spec->samples == SAMPLES_24 ? SF_FORMAT_PCM_24
                                                    : SF_FORMAT_FLOAT;
  *format           = (SF_INFO){
              .samplerate = (int)lrint(spec->rate_hz),
              .channels   = (int)spec->n_channels,
              .format     = container | samples,
  };
  return sf_format_check(format) ||
         fail_with(f, "%s: this file format has no rate of %d Hz", spec->path,
                   format->samplerate);
}

audio_out*
audio_out_open(const audio_out_spec* spec, failure* f)
{
  SF_INFO format;
  if (!choose_format(spec, &format, f)) {
    return NULL;
  }
  audio_out* const a = alloc_new(1, sizeof(*a));
  a->path            = alloc_copy(spec->path);
  a->n_channels      = spec->n_channels;
  a->samples         = spec->samples;
  a->dither          = 1;
  a->whole           = whole_file_open(a->path, f);
  if (a->whole) {
    a->bytes.descriptor = whole_file_descriptor(a->whole);
    a->file             = out_bytes_open(&a->bytes, &format);
    if (a->file) {
      // That chunk holds the time of writing: other bytes each time
      (void)sf_command(a->file, SFC_SET_ADD_PEAK_CHUNK, NULL, SF_FALSE);
      return a;
    }
    (void)fail_with(f, "%s: cannot be written (%s)", a->path,
                    sf_strerror(NULL));
  }
  audio_out_abandon(a);
  return NULL;
}

/// Returns a uniform number in 0..1: the upper half of Knuth's 64-bit
/// congruential generator, The Art of Computer Programming 2, 3.3.4, table 1
/// line 26
static double
uniform(uint64_t* state)
{
  *state = *state * 6364136223846793005U + 1442695040888963407U;
  return (double)(*state >> 32U) / 4294967296.0;
}

/// Returns a sample of 16 bits in the upper bits of an int, as libsndfile takes
/// it
static int
dithered(audio_out* a, float x)
{
  double scaled = (double)x * 32768.0;
  scaled += uniform(&a->dither) - uniform(&a->dither);
  return (int)fmin(fmax(rint(scaled), -32768.0), 32767.0) * (1 << 16);
}

/// Returns a sample of 24 bits in the upper bits of an int.  Exact in float,
/// which has as many bits: only the rounding rounds.
static inline int
rounded(float x)
{
  const float top    = 8388607.0F;
  const float whole  = rintf(x * 8388608.0F);
  const float capped = whole < top ? whole : top;
  return (int)(capped > -8388608.0F ? capped : -8388608.0F) * (1 << 8);
}

static inline uint32_t
round_some(int* to, const float* x, size_t n, size_t step)
{
  uint32_t n_over = 0;
  for (size_t i = 0; i < n; ++i) {
    n_over += fabsf(x[i]) > 1.0F;
    to[i * step] = rounded(x[i]);
  }
  return n_over;
}

/// Rounds a channel of `n_channels` to 24 bits; returns how many samples are
/// above 0 dBFS.  A step that the compiler knows makes vectors.
WIDE_CLONES static uint32_t
round_channel(int* to, const float* x, uint32_t n, uint32_t n_channels)
{
  return n_channels == 1 ? round_some(to, x, n, 1) : round_some(to, x, n, 2);
}

static void
take_16(audio_out* a, const float* const* x, uint32_t n)
{
  for (uint32_t i = 0; i < n; ++i) { // In the order of the dither's numbers
    for (uint32_t k = 0; k < a->n_channels; ++k) {
      // NOLINTNEXTLINE(clang-analyzer-core.NullDereference): all are there
      const float sample = x[k][i];
      a->n_over += fabsf(sample) > 1.0F;
      a->ints[i * a->n_channels + k] = dithered(a, sample);
    }
  }
}

static void
take_float(audio_out* a, const float* const* x, uint32_t n)
{
  for (uint32_t k = 0; k < a->n_channels; ++k) {
    for (uint32_t i = 0; i < n; ++i) {
      a->n_over += fabsf(x[k][i]) > 1.0F;
      a->floats[i * a->n_channels + k] = x[k][i];
    }
  }
}

static sf_count_t
write_some(audio_out* a, const float* const* x, uint32_t n)
{
  assert(a->n_channels <= AUDIO_MAX_CHANNELS);
  if (a->samples == SAMPLES_FLOAT) {
    take_float(a, x, n);
    return sf_writef_float(a->file, a->floats, n);
  }
  if (a->samples == SAMPLES_16) {
    take_16(a, x, n);
  }
  for (uint32_t k = 0; a->samples == SAMPLES_24 && k < a->n_channels; ++k) {
    // NOLINTNEXTLINE(clang-analyzer-core.CallAndMessage): all are there
    a->n_over += round_channel(a->ints + k, x[k], n, a->n_channels);
  }
  return sf_writef_int(a->file, a->ints, n);
}

bool
audio_out_write(audio_out* a, const float* const* x, uint32_t n, failure* f)
{
  for (uint32_t i = 0; i < n; i += WRITE_FRAMES) {
    const uint32_t     now    = n - i < WRITE_FRAMES ? n - i : WRITE_FRAMES;
    const float* const from[] = {x[0] + i, x[a->n_channels - 1] + i};
    if (write_some(a, from, now) != (sf_count_t)now || a->bytes.error) {
      return fail_with(f, "%s: cannot be written (%s)", a->path,
                       a->bytes.error ? strerror(a->bytes.error)
                                      : sf_strerror(a->file));
    }
  }
  return true;
}

uint64_t
audio_out_n_over(const audio_out* a)
{
  return a->n_over;
}

/// Complete for its part; false with a line
static bool
complete(audio_out* a, failure* f)
{
  const int format_error = sf_close(a->file); // This may still write
  const int error        = a->bytes.error;
  a->file                = NULL;
  return (!error && !format_error) ||
         fail_with(f, "%s: cannot be completed (%s)", a->path,
                   error ? strerror(error) : sf_error_number(format_error));
}

/// Its whole_file, which is no longer its own
static whole_file*
taken(audio_out* a)
{
  whole_file* const whole = a->whole;
  a->whole                = NULL;
  return whole;
}

bool
audio_out_finish(audio_out* a, failure* f)
{
  const bool ok = complete(a, f) && whole_file_finish(taken(a), f);
  audio_out_abandon(a);
  return ok;
}

bool
audio_out_finish_both(audio_out* first, audio_out* second, failure* f)
{
  const bool ok = complete(first, f) && complete(second, f) &&
                  whole_file_finish_both(taken(first), taken(second), f);
  audio_out_abandon(first);
  audio_out_abandon(second);
  return ok;
}

void
audio_out_abandon(audio_out* a)
{
  if (a) {
    (void)sf_close(a->file);
    whole_file_abandon(a->whole);
    free(a->path);
    free(a);
  }
}
