// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// A piece of sound as Ogg Opus (RFC 6716, RFC 7845) in memory

#ifndef PRESETS_DEMO_SESSION_LISTEN_OPUS_OUT_H
#define PRESETS_DEMO_SESSION_LISTEN_OPUS_OUT_H

#include "listen_clip.h"

#include <stddef.h>

/// Rate of the sound: what Opus works at, whatever the session's rate
#define OPUS_OUT_RATE_HZ 48000.0

typedef struct {
  unsigned char* data; ///< free() it; NULL if it cannot be made
  size_t         n;
} opus_bytes;

/// Encodes a clip with a gain, and with short fades at both ends, so that it
/// can be repeated.  May run in any thread.  Fails only if libsndfile was built
/// without Opus.
opus_bytes
opus_out_encode(const listen_clip* c, double rate_hz, double gain_db);

#endif // PRESETS_DEMO_SESSION_LISTEN_OPUS_OUT_H
