// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "audio_in.h"

#include "common/core/dsp.h"
#include "common/core/fastmath.h"
#include "integer_scale.h"
#include "presets-demo/render/program/alloc.h"
#include "truncated.h"

#include <sndfile.h>
#include <soxr.h>

#include <assert.h>
#include <errno.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

#define READ_FRAMES 4096U

struct audio_in {
  char*         path;
  SNDFILE*      file;
  SF_INFO       format;
  audio_in_info info;
  audio_mend    mend;
  int64_t       n_file;      ///< Frames of the file read so far
  int64_t       n_delivered; ///< Frames handed out
  soxr_t        converter;   ///< NULL at the file's own rate
  float*        frames;      ///< READ_FRAMES of the file, interleaved
  float*        converted;   ///< READ_FRAMES to hand out, interleaved
  failure*      f;           ///< Of the current call
  bool          has_failed;
};

static bool
fail_here(audio_in* a, const char* what)
{
  a->has_failed = true;
  return fail_with(a->f, "%s: %s", a->path, what);
}

/// Looks at the exponents, in vectors
WIDE_CLONES static bool
are_finite(const float* x, size_t n)
{
  uint32_t n_bad = 0;
  for (size_t i = 0; i < n; ++i) {
    n_bad += (float_bits(x[i]) & 0x7F800000) == 0x7F800000;
  }
  return !n_bad;
}

/// Returns 0 if all are finite, else the position of the first that is not,
/// counted from 1
static size_t
first_not_finite(const float* x, size_t n)
{
  if (are_finite(x, n)) {
    return 0;
  }
  for (size_t i = 0; i < n; ++i) {
    if (!isfinite(x[i])) {
      return i + 1;
    }
  }
  return 0;
}

/// Reads the next frames of the file, at its own rate
static size_t
read_file(audio_in* a, size_t n)
{
  const size_t n_channels = (size_t)a->format.channels;
  assert(n_channels > 0);
  const sf_count_t got = sf_readf_float(a->file, a->frames, (sf_count_t)n);
  if (got < 0 || sf_error(a->file)) {
    (void)fail_here(a, sf_strerror(a->file));
    return 0;
  }
  const size_t bad = first_not_finite(a->frames, (size_t)got * n_channels);
  if (bad && n_channels) {
    const float sample = a->frames[bad - 1];
    a->has_failed      = true;
    (void)fail_with(
      a->f, "%s: %s at frame %lld of channel %zu; expected finite samples",
      a->path, isnan(sample) ? "not a number" : "an infinite sample",
      (long long)a->n_file + (long long)((bad - 1) / n_channels),
      (bad - 1) % n_channels + 1);
    return 0;
  }
  if (!integer_scale_check(a->file, a->frames, (size_t)got * n_channels,
                           a->path, a->f)) {
    a->has_failed = true;
    return 0;
  }
  a->n_file += got;
  if ((size_t)got < n && a->info.n_frames >= 0 &&
      a->n_file < (int64_t)a->format.frames) {
    a->has_failed = true;
    (void)fail_with(a->f, "%s: ends after %lld frames; expected %lld", a->path,
                    (long long)a->n_file, (long long)a->format.frames);
    return 0;
  }
  audio_mend_frames(&a->mend, a->frames, (size_t)got, (uint32_t)n_channels);
  return (size_t)got;
}

/// Hands libsoxr its next input
static size_t
feed_converter(void* user, soxr_in_t* data, size_t n)
{
  audio_in* const a   = user;
  size_t          got = 0;
  if (!a->has_failed) { // libsoxr asks again after a failure
    got = read_file(a, n < READ_FRAMES ? n : READ_FRAMES);
  }
  *data = a->has_failed ? NULL : a->frames;
  return got;
}

static bool
start_converter(audio_in* a)
{
  const soxr_io_spec_t      io = soxr_io_spec(SOXR_FLOAT32_I, SOXR_FLOAT32_I);
  const soxr_quality_spec_t quality = soxr_quality_spec(SOXR_VHQ, 0);
  const soxr_runtime_spec_t runtime = soxr_runtime_spec(1);
  soxr_error_t              error   = NULL;

  a->converter =
    soxr_create(a->info.file_rate_hz, a->info.rate_hz, a->info.n_channels,
                &error, &io, &quality, &runtime);
  if (!error) {
    error = soxr_set_input_fn(a->converter, feed_converter, a, READ_FRAMES);
  }
  return !error || fail_here(a, soxr_strerror(error));
}

static bool
check_path(const char* path, failure* f)
{
  struct stat status;
  if (stat(path, &status)) {
    return fail_with(f, "%s: %s; expected a sound file", path, strerror(errno));
  }
  return S_ISDIR(status.st_mode)
           ? fail_with(f, "%s: is a folder; expected a sound file", path)
           : true;
}

static bool
check_format(audio_in* a)
{
  const SF_INFO* const format = &a->format;
  if (format->channels < 1 || format->channels > (int)AUDIO_MAX_CHANNELS) {
    return fail_with(a->f, "%s: %d channels; expected 1 or 2", a->path,
                     format->channels);
  }
  if (!dsp_rate_is_valid(format->samplerate)) {
    return fail_with(a->f, "%s: sample rate %d Hz; expected %g to %g Hz",
                     a->path, format->samplerate, DSP_MIN_RATE_HZ,
                     DSP_MAX_RATE_HZ);
  }
  return format->frames > 0 ||
         fail_with(a->f, "%s: holds no audio (0 frames)", a->path);
}

static audio_in_info
info_of(const SF_INFO* format, double rate_hz, const audio_mend* mend)
{
  audio_in_info info = {
    .n_channels   = audio_mend_n_channels(mend, (uint32_t)format->channels),
    .file_rate_hz = format->samplerate,
    .rate_hz      = rate_hz > 0.0 ? rate_hz : format->samplerate,
    .n_frames     = format->frames,
  };
  if (format->frames == SF_COUNT_MAX) { // Unknown before the end
    info.n_frames = -1;
  } else if (info.rate_hz != info.file_rate_hz) {
    info.n_frames =
      llround((double)format->frames * (info.rate_hz / info.file_rate_hz));
  }
  return info;
}

static bool
open_file(audio_in* a)
{
  a->file = sf_open(a->path, SFM_READ, &a->format);
  if (!a->file) {
    return fail_with(
      a->f,
      "%s: is not a sound file that can be read (%s); expected WAV, "
      "FLAC or AIFF",
      a->path, sf_strerror(NULL));
  }
  return check_format(a) && truncated_check(a->file, a->path, a->f);
}

audio_in*
audio_in_open(const char* path, double rate_hz, failure* f)
{
  const audio_mend none = {.channels = MEND_ALL_CHANNELS};
  return audio_in_open_mended(path, rate_hz, &none, f);
}

audio_in*
audio_in_open_mended(const char*       path,
                     double            rate_hz,
                     const audio_mend* mend,
                     failure*          f)
{
  if (!check_path(path, f)) {
    return NULL;
  }
  audio_in* const a = alloc_new(1, sizeof(*a));
  a->path           = alloc_copy(path);
  a->f              = f;
  bool ok           = open_file(a);
  if (ok) {
    a->mend        = *mend;
    a->info        = info_of(&a->format, rate_hz, mend);
    const size_t n = (size_t)READ_FRAMES * (size_t)a->format.channels;
    a->frames      = alloc_new(n, sizeof(float));
    a->converted   = alloc_new(n, sizeof(float));
    ok = a->info.rate_hz == a->info.file_rate_hz || start_converter(a);
  }
  if (!ok) {
    audio_in_close(a);
    return NULL;
  }
  return a;
}

void
audio_in_close(audio_in* a)
{
  if (a) {
    soxr_delete(a->converter);
    (void)sf_close(a->file);
    free(a->converted);
    free(a->frames);
    free(a->path);
    free(a);
  }
}

audio_in_info
audio_in_get_info(const audio_in* a)
{
  return a->info;
}

/// Reads up to READ_FRAMES at the rate of `info`
static size_t
read_some(audio_in* a, size_t n, const float** frames)
{
  if (!a->converter) {
    *frames = a->frames;
    return read_file(a, n);
  }
  // The length is the file's times the ratio of the rates, rounded; the
  // converter may round it otherwise
  size_t limit = n;
  if (a->info.n_frames >= 0) {
    const int64_t left = a->info.n_frames - a->n_delivered;
    limit              = left < (int64_t)n ? (size_t)left : n;
  }
  *frames          = a->converted;
  const size_t got = limit ? soxr_output(a->converter, a->converted, limit) : 0;
  if (!a->has_failed && soxr_error(a->converter)) {
    (void)fail_here(a, soxr_strerror(soxr_error(a->converter)));
  }
  if (got < limit && a->info.n_frames >= 0) {
    memset(a->converted + got * a->info.n_channels, 0,
           (limit - got) * a->info.n_channels * sizeof(float));
    return limit;
  }
  return got;
}

int64_t
audio_in_read(audio_in* a, float* const* x, uint32_t n, failure* f)
{
  a->f          = f;
  uint32_t done = 0;
  while (done < n) {
    const uint32_t left   = n - done;
    const float*   frames = NULL;
    const size_t   got =
      read_some(a, left < READ_FRAMES ? left : READ_FRAMES, &frames);
    if (a->has_failed) {
      return -1;
    }
    if (!got) {
      break;
    }
    for (uint32_t k = 0; k < a->info.n_channels; ++k) {
      for (size_t i = 0; i < got; ++i) {
        x[k][done + i] = frames[i * a->info.n_channels + k];
      }
    }
    done += (uint32_t)got;
    a->n_delivered += (int64_t)got;
  }
  return done;
}

const char*
audio_in_libraries(void)
{
  static char text[256];
  char        sound[128] = "";
  (void)sf_command(NULL, SFC_GET_LIB_VERSION, sound, sizeof(sound));
  (void)snprintf(text, sizeof(text), "%s %s", sound, soxr_version());
  return text;
}
