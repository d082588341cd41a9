// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Bytes on their way into a file, for libsndfile, which does not tell of all
/// writes that fail: what FLAC still holds when it is closed may be lost
/// without a word.  Here the first failure is kept.

#ifndef PRESETS_DEMO_RENDER_AUDIO_OUT_BYTES_H
#define PRESETS_DEMO_RENDER_AUDIO_OUT_BYTES_H

#include <sndfile.h>

typedef struct {
  int descriptor; ///< Of the file
  int error;      ///< errno of the first write that failed, or 0
} out_bytes;

/// Open for writing; the descriptor stays the caller's.  NULL with the reason
/// in sf_strerror(NULL).
SNDFILE*
out_bytes_open(out_bytes* b, SF_INFO* format);

#endif // PRESETS_DEMO_RENDER_AUDIO_OUT_BYTES_H
