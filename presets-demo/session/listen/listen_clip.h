// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Keeps one stretch of a signal that passes by

#ifndef PRESETS_DEMO_SESSION_LISTEN_LISTEN_CLIP_H
#define PRESETS_DEMO_SESSION_LISTEN_LISTEN_CLIP_H

#include <stdint.h>

typedef struct {
  uint64_t from;       ///< First frame that is kept
  uint32_t n;          ///< Frames that are kept; 0: none
  uint32_t n_channels; ///< 1 or 2
  float*   x[2];       ///< Silence where nothing passed
  uint64_t n_passed;   ///< Frames so far
} listen_clip;

void
listen_clip_init(listen_clip* c,
                 uint64_t     from,
                 uint32_t     n,
                 uint32_t     n_channels);

void
listen_clip_clear(listen_clip* c);

/// Lets `n` frames pass; does nothing to a clip of zeroes
void
listen_clip_pass(listen_clip* c, const float* const* x, uint32_t n);

/// Adds another clip of the same stretch; mono is added to both sides
void
listen_clip_add(listen_clip* c, const listen_clip* other);

#endif // PRESETS_DEMO_SESSION_LISTEN_LISTEN_CLIP_H
