// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "audio_mend.h"

#define SILENCE_FRAMES 4U

bool
audio_mend_changes(const audio_mend* m)
{
  return m->channels != MEND_ALL_CHANNELS || m->dc[0] != 0.0F ||
         m->dc[1] != 0.0F;
}

uint32_t
audio_mend_n_channels(const audio_mend* m, uint32_t n_channels)
{
  return m->channels == MEND_ALL_CHANNELS ? n_channels : 1;
}

static void
subtract(float* x, size_t n, uint32_t stride, float dc)
{
  for (size_t i = 0; i < n;) {
    size_t end = i;
    while (end < n && x[end * stride] == 0.0F) {
      ++end;
    }
    if (end - i >= SILENCE_FRAMES) {
      i = end;
    } else {
      end += end == i;
      for (; i < end; ++i) {
        x[i * stride] -= dc;
      }
    }
  }
}

void
audio_mend_frames(const audio_mend* m,
                  float*            frames,
                  size_t            n,
                  uint32_t          n_channels)
{
  for (uint32_t k = 0; k < n_channels; ++k) {
    if (m->dc[k] != 0.0F) {
      subtract(frames + k, n, n_channels, m->dc[k]);
    }
  }
  if (m->channels != MEND_ALL_CHANNELS) {
    const size_t only = m->channels == MEND_RIGHT_ONLY;
    for (size_t i = 0; i < n; ++i) {
      frames[i] = frames[i * n_channels + only];
    }
  }
}
