// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "opus_out.h"

#include "common/core/dsp.h"
#include "presets-demo/render/program/alloc.h"

#include <sndfile.h>
#include <soxr.h>

#include <math.h>
#include <stdlib.h>
#include <string.h>

/// libsndfile maps 0 to 1 onto 256 to 6 kbit/s for each channel.  96 kbit/s is
/// half as much again as the most that RFC 7587, section 3.1.1, recommends for
/// mono music, and twice that for each side of stereo.
#define COMPRESSION ((256.0 - 96.0) / (256.0 - 6.0))

#define FADE_S 0.010

/// A file in memory, as libsndfile writes it
typedef struct {
  unsigned char* data;
  sf_count_t     n, room, at;
} memory_file;

static sf_count_t
memory_length(void* user)
{
  return ((const memory_file*)user)->n;
}

static sf_count_t
memory_seek(sf_count_t offset, int whence, void* user)
{
  memory_file* const m = user;
  m->at                = whence == SEEK_CUR   ? m->at + offset
                         : whence == SEEK_END ? m->n + offset
                                              : offset;
  return m->at;
}

static sf_count_t
memory_read(void* to, sf_count_t count, void* user)
{
  memory_file* const m    = user;
  const sf_count_t   left = m->n - m->at;
  const sf_count_t   now  = left < count ? left : count;
  memcpy(to, m->data + m->at, (size_t)now);
  m->at += now;
  return now;
}

static sf_count_t
memory_write(const void* from, sf_count_t count, void* user)
{
  memory_file* const m   = user;
  const sf_count_t   end = m->at + count;
  if (end > m->room) {
    m->room = 2 * end;
    m->data = alloc_grow(m->data, (size_t)m->room, 1);
  }
  memcpy(m->data + m->at, from, (size_t)count);
  m->at = end;
  m->n  = end > m->n ? end : m->n;
  return count;
}

static sf_count_t
memory_tell(void* user)
{
  return ((const memory_file*)user)->at;
}

/// Returns how loud frame `i` of `n` is between the fades
static double
fade(size_t i, size_t n)
{
  const size_t length = (size_t)(FADE_S * OPUS_OUT_RATE_HZ);
  const size_t edge   = i < n - 1 - i ? i : n - 1 - i;
  return edge < length ? 0.5 - 0.5 * cos(DSP_PI * (double)edge / (double)length)
                       : 1.0;
}

/// Returns the clip's frames at 48 kHz, interleaved; free() them
static float*
convert(const listen_clip* c, double rate_hz, size_t* n)
{
  const uint32_t channels = c->n_channels;
  float* const   x        = alloc_new((size_t)c->n * channels, sizeof(float));
  for (uint32_t i = 0; i < c->n; ++i) {
    for (uint32_t k = 0; k < channels; ++k) {
      x[(size_t)i * channels + k] = c->x[k][i];
    }
  }
  *n = c->n;
  if (rate_hz == OPUS_OUT_RATE_HZ) {
    return x;
  }
  const size_t room =
    (size_t)ceil((double)c->n * OPUS_OUT_RATE_HZ / rate_hz) + 1;
  float* const              y       = alloc_new(room * channels, sizeof(float));
  const soxr_quality_spec_t quality = soxr_quality_spec(SOXR_VHQ, 0);
  const soxr_error_t        error =
    soxr_oneshot(rate_hz, OPUS_OUT_RATE_HZ, channels, x, c->n, NULL, y, room, n,
                 NULL, &quality, NULL);
  free(x);
  if (error) {
    *n = 0;
  }
  return y;
}

static bool
write_frames(memory_file* m, const float* x, size_t n, uint32_t n_channels)
{
  SF_VIRTUAL_IO  io   = {.get_filelen = memory_length,
                         .seek        = memory_seek,
                         .read        = memory_read,
                         .write       = memory_write,
                         .tell        = memory_tell};
  SF_INFO        info = {.samplerate = (int)OPUS_OUT_RATE_HZ,
                         .channels   = (int)n_channels,
                         .format     = SF_FORMAT_OGG | SF_FORMAT_OPUS};
  SNDFILE* const file = sf_open_virtual(&io, SFM_WRITE, &info, m);
  if (!file) {
    return false;
  }
  double     compression = COMPRESSION;
  const bool is_set = sf_command(file, SFC_SET_COMPRESSION_LEVEL, &compression,
                                 sizeof(compression)) == SF_TRUE;
  const bool ok =
    is_set && sf_writef_float(file, x, (sf_count_t)n) == (sf_count_t)n;
  return !sf_close(file) && ok;
}

opus_bytes
opus_out_encode(const listen_clip* c, double rate_hz, double gain_db)
{
  size_t       n    = 0;
  float* const x    = convert(c, rate_hz, &n);
  const double gain = pow(10.0, gain_db / 20.0);
  for (size_t i = 0; i < n; ++i) {
    const float now = (float)(gain * fade(i, n));
    for (uint32_t k = 0; k < c->n_channels; ++k) {
      x[i * c->n_channels + k] *= now;
    }
  }
  memory_file m  = {.data = NULL};
  const bool  ok = n && write_frames(&m, x, n, c->n_channels);
  free(x);
  if (!ok) {
    free(m.data);
    m = (memory_file){.data = NULL};
  }
  return (opus_bytes){m.data, (size_t)m.n};
}
