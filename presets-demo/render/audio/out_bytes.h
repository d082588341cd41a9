// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Writes a file for libsndfile, which does not report every failed write: data
/// that FLAC holds back until it is closed may be lost silently.  Here the
/// first failure is kept.

#ifndef PRESETS_DEMO_RENDER_AUDIO_OUT_BYTES_H
#define PRESETS_DEMO_RENDER_AUDIO_OUT_BYTES_H

#include <sndfile.h>

typedef struct {
  int descriptor; ///< Of the file
  int error;      ///< errno of the first write that failed, or 0
} out_bytes;

/// Opens for writing; the descriptor stays the caller's.  Returns NULL with the
/// reason in sf_strerror(NULL).
SNDFILE*
out_bytes_open(out_bytes* b, SF_INFO* format);

#endif // PRESETS_DEMO_RENDER_AUDIO_OUT_BYTES_H
