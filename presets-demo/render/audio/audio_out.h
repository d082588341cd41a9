// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Writes a sound file completely or not at all (whole_file.h)

#ifndef PRESETS_DEMO_RENDER_AUDIO_AUDIO_OUT_H
#define PRESETS_DEMO_RENDER_AUDIO_AUDIO_OUT_H

#include "plugins/text/failure.h"

#include <stdint.h>

typedef enum {
  SAMPLES_16, ///< With triangular dither of 2 LSB peak to peak
  SAMPLES_24,
  SAMPLES_FLOAT,
} sample_format;

typedef struct {
  const char*   path; ///< .wav, .flac, .aif or .aiff
  uint32_t      n_channels;
  double        rate_hz;
  sample_format samples;
  int64_t       n_frames; ///< Expected length, roughly; -1 if unknown
} audio_out_spec;

typedef struct audio_out audio_out;

/// Returns NULL if there is no such format or the file cannot be created
audio_out*
audio_out_open(const audio_out_spec* spec, failure* f);

/// Writes `n` frames.  The same samples give the same bytes, dither included.
bool
audio_out_write(audio_out* a, const float* const* x, uint32_t n, failure* f);

/// Returns the number of samples above 0 dBFS so far; an integer format clips
/// them
uint64_t
audio_out_n_over(const audio_out* a);

/// Completes the file, gives it its name, and frees `a`.  Returns false if that
/// fails; then nothing is left.
bool
audio_out_finish(audio_out* a, failure* f);

/// Does the same for two: both are new or both old (whole_file_finish_both())
bool
audio_out_finish_both(audio_out* first, audio_out* second, failure* f);

/// Removes what was written, and frees `a`
void
audio_out_abandon(audio_out* a);

#endif // PRESETS_DEMO_RENDER_AUDIO_AUDIO_OUT_H
