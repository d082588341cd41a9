// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Detects sound files that lost their end

#ifndef PRESETS_DEMO_RENDER_AUDIO_TRUNCATED_H
#define PRESETS_DEMO_RENDER_AUDIO_TRUNCATED_H

#include "plugins/text/failure.h"

#include <sndfile.h>

/// Returns false with a failure if a file just opened holds less audio than its
/// header states.  libsndfile takes such a file for a shorter one; only its log
/// tells, and only of WAV, AIFF and RF64.  A cut FLAC fails while it is read.
bool
truncated_check(SNDFILE* file, const char* path, failure* f);

#endif // PRESETS_DEMO_RENDER_AUDIO_TRUNCATED_H
