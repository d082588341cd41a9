// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Floating-point recordings whose full scale is that of integers, 32768
/// instead of 1: the stages would mute what is beyond their input limit, and
/// half silence come out.

#ifndef PRESETS_DEMO_RENDER_AUDIO_INTEGER_SCALE_H
#define PRESETS_DEMO_RENDER_AUDIO_INTEGER_SCALE_H

#include "presets-demo/render/program/failure.h"

#include <sndfile.h>

#include <stddef.h>

/// Whether `n` finite samples, just read from a file, are within
/// STAGE_INPUT_LIMIT.  False with a line that says what the file seems to be:
/// it is read to its end for that, a piece at a time.  What is hot but within
/// the limit is the mixer's affair: it passes all stages.
bool
integer_scale_check(SNDFILE*     file,
                    const float* x,
                    size_t       n,
                    const char*  path,
                    failure*     f);

#endif // PRESETS_DEMO_RENDER_AUDIO_INTEGER_SCALE_H
