// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Reads a sound file block by block, at its own rate or converted.
///
/// libsndfile reads, libsoxr converts (very-high-quality recipe, linear phase,
/// its delay compensated).

#ifndef PRESETS_DEMO_RENDER_AUDIO_AUDIO_IN_H
#define PRESETS_DEMO_RENDER_AUDIO_AUDIO_IN_H

#include "audio_mend.h"
#include "plugins/text/failure.h"

#include <stdint.h>

#define AUDIO_MAX_CHANNELS 2U

typedef struct audio_in audio_in;

typedef struct {
  uint32_t n_channels; ///< 1 or 2
  double   rate_hz;    ///< Of the frames read
  double   file_rate_hz;
  int64_t  n_frames; ///< At rate_hz; -1 if the file does not say
} audio_in_info;

/// Opens a file; with `rate_hz` of 0 it is read at its own rate.  Returns NULL
/// unless it is audio of 1 or 2 channels at DSP_MIN_RATE_HZ to DSP_MAX_RATE_HZ.
audio_in*
audio_in_open(const char* path, double rate_hz, failure* f);

/// Opens a file that is mended while it is read
audio_in*
audio_in_open_mended(const char*       path,
                     double            rate_hz,
                     const audio_mend* mend,
                     failure*          f);

void
audio_in_close(audio_in* a);

audio_in_info
audio_in_get_info(const audio_in* a);

/// Reads up to `n` frames into one buffer per channel.  Returns the number
/// read, less than `n` at the end only; -1 after a read error, at a sample that
/// is not finite or beyond STAGE_INPUT_LIMIT (integer_scale.h), or if the file
/// is shorter than its header says.
int64_t
audio_in_read(audio_in* a, float* const* x, uint32_t n, failure* f);

/// Returns the names and versions of the libraries that make the frames
const char*
audio_in_libraries(void);

#endif // PRESETS_DEMO_RENDER_AUDIO_AUDIO_IN_H
