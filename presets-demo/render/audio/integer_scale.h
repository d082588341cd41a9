// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Finds floating-point recordings with the full scale of integers, 32768
/// instead of 1: the stages would mute what is above their input limit, and
/// half silence come out

#ifndef PRESETS_DEMO_RENDER_AUDIO_INTEGER_SCALE_H
#define PRESETS_DEMO_RENDER_AUDIO_INTEGER_SCALE_H

#include "plugins/text/failure.h"

#include <sndfile.h>

#include <stddef.h>

/// Returns true if `n` finite samples, just read from a file, are within
/// STAGE_INPUT_LIMIT, else false with a failure that says what the file seems
/// to be; only for that it reads the file to its end, block by block.  Hot
/// samples within the limit pass, as they pass all stages.
bool
integer_scale_check(SNDFILE*     file,
                    const float* x,
                    size_t       n,
                    const char*  path,
                    failure*     f);

#endif // PRESETS_DEMO_RENDER_AUDIO_INTEGER_SCALE_H
