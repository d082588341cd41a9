// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Mono sounds of 48 kHz in memory: takes from files, those of the demo's
/// guitar, its single notes, sines and noise

#ifndef TESTS_EARS_EARS_SOUND_H
#define TESTS_EARS_EARS_SOUND_H

#include "plugins/text/failure.h"
#include "presets-demo/guitar/take.h"

#include <stddef.h>
#include <stdint.h>

#define EARS_RATE_HZ ((double)TAKE_RATE_HZ)

typedef struct {
  float* x; ///< NULL of nothing
  size_t n; ///< Frames
} ears_sound;

/// Silence
ears_sound
ears_sound_new(size_t n);

void
ears_sound_free(ears_sound* s);

/// Read a file, converted to 48 kHz, the mean of its channels.  False with a
/// line that names the file if it is no audio, or has no playing to measure.
bool
ears_sound_read(ears_sound* s, const char* path, failure* f);

/// A take of the demo
ears_sound
ears_sound_take(take which);

/// A note of the demo's guitar, from 20 ms before its onset on.  `noise`, if
/// not NULL, becomes 0.3 s of what the interface adds to it.
ears_sound
ears_sound_note(take_note note, double seconds, ears_sound* noise);

ears_sound
ears_sound_sine(double hz, double rms, double seconds);

/// A copy with `tail` frames of silence behind it, and white noise of a level
/// all over it; the same noise on every run
ears_sound
ears_sound_with_noise(const ears_sound* s, double noise_db, size_t tail);

#endif // TESTS_EARS_EARS_SOUND_H
