// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Writing a sound file that is there as a whole or not at all (whole_file.h)

#ifndef PRESETS_DEMO_RENDER_AUDIO_AUDIO_OUT_H
#define PRESETS_DEMO_RENDER_AUDIO_AUDIO_OUT_H

#include "presets-demo/render/program/failure.h"

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
  int64_t       n_frames; ///< About how many are to come; -1 if unknown
} audio_out_spec;

typedef struct audio_out audio_out;

/// NULL if the format does not exist, or the file cannot be there
audio_out*
audio_out_open(const audio_out_spec* spec, failure* f);

/// Take `n` frames.  The same samples give the same bytes, dither included.
bool
audio_out_write(audio_out* a, const float* const* x, uint32_t n, failure* f);

/// Samples above 0 dBFS so far; in an integer format they are cut off there
uint64_t
audio_out_n_over(const audio_out* a);

/// Complete the file, give it its name, and free `a`.  False if that fails;
/// nothing is left then.
bool
audio_out_finish(audio_out* a, failure* f);

/// Remove what was written, and free `a`
void
audio_out_abandon(audio_out* a);

#endif // PRESETS_DEMO_RENDER_AUDIO_AUDIO_OUT_H
