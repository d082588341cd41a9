// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// The dry guitars of the demo as sound files

#ifndef TESTS_SUPPORT_TAKE_SOUND_H
#define TESTS_SUPPORT_TAKE_SOUND_H

#include "render_check.h"

#include "presets-demo/guitar/take.h"

static inline void
take_write(take which, const char* name)
{
  int32_t* const raw = malloc(take_frames() * sizeof(*raw));
  sound          s   = sound_new(FLOAT_WAV, TAKE_RATE_HZ, 1, take_frames());
  assert_true(raw && take_render(which, raw));
  for (uint32_t i = 0; i < take_frames(); ++i) {
    s.x[i] = (float)raw[i] / 8388608.0F;
  }
  sound_write(&s, name);
  sound_free(&s);
  free(raw);
}

#endif // TESTS_SUPPORT_TAKE_SOUND_H
