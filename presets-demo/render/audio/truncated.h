// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Sound files that lost their end on the way

#ifndef PRESETS_DEMO_RENDER_AUDIO_TRUNCATED_H
#define PRESETS_DEMO_RENDER_AUDIO_TRUNCATED_H

#include "presets-demo/render/program/failure.h"

#include <sndfile.h>

/// False, with a line, if a file just opened holds less audio than its header
/// states.  libsndfile takes such a file for a shorter one; only its log tells,
/// of WAV, AIFF and RF64.  FLAC shows it while it is read.
bool
truncated_check(SNDFILE* file, const char* path, failure* f);

#endif // PRESETS_DEMO_RENDER_AUDIO_TRUNCATED_H
