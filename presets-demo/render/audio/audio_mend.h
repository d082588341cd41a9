// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// What is taken out of a recording as it is read: DC, and a silent channel

#ifndef PRESETS_DEMO_RENDER_AUDIO_AUDIO_MEND_H
#define PRESETS_DEMO_RENDER_AUDIO_AUDIO_MEND_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

typedef enum {
  MEND_ALL_CHANNELS,
  MEND_LEFT_ONLY, ///< A stereo file becomes a mono recording
  MEND_RIGHT_ONLY,
} mend_channels;

typedef struct {
  mend_channels channels;
  float         dc[2]; ///< To subtract, by channel of the file
} audio_mend;

/// Returns whether it takes anything out
bool
audio_mend_changes(const audio_mend* m);

/// Returns the number of channels of a mended recording
uint32_t
audio_mend_n_channels(const audio_mend* m, uint32_t n_channels);

/// Mends `n` interleaved frames of `n_channels` in place.  Digital silence,
/// four zeros or more in a row, is left alone: it has no DC.
void
audio_mend_frames(const audio_mend* m,
                  float*            frames,
                  size_t            n,
                  uint32_t          n_channels);

#endif // PRESETS_DEMO_RENDER_AUDIO_AUDIO_MEND_H
