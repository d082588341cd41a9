// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "ears_sound.h"

#include "common/core/dsp.h"
#include "ears_level.h"
#include "presets-demo/guitar/repeatable.h"
#include "presets-demo/render/audio/audio_in.h"
#include "presets-demo/render/program/alloc.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define READ_FRAMES  4096U
#define MAX_S        1800.0 ///< Some copies of it must fit into memory
#define LEAD_IN_S    0.020
#define NOISE_FROM_S 0.1
#define NOISE_S      0.3

ears_sound
ears_sound_new(size_t n)
{
  return (ears_sound){alloc_new(n ? n : 1, sizeof(float)), n};
}

void
ears_sound_free(ears_sound* s)
{
  free(s->x);
  *s = (ears_sound){NULL, 0};
}

/// Append what the file still has
static bool
read_all(ears_sound* s, audio_in* in, const char* path, failure* f)
{
  const uint32_t n_channels = audio_in_get_info(in).n_channels;
  float          memory[AUDIO_MAX_CHANNELS][READ_FRAMES];
  float* const   x[AUDIO_MAX_CHANNELS] = {memory[0], memory[1]};
  int64_t        got                   = READ_FRAMES;
  while (got == READ_FRAMES) {
    got = audio_in_read(in, x, READ_FRAMES, f);
    if (got < 0) {
      return false;
    }
    s->x = alloc_grow(s->x, s->n + READ_FRAMES, sizeof(float));
    for (size_t i = 0; i < (size_t)got; ++i) {
      const float sum = n_channels == 2 ? x[0][i] + x[1][i] : 2.0F * x[0][i];
      s->x[s->n++]    = 0.5F * sum;
    }
    if ((double)s->n > MAX_S * EARS_RATE_HZ) {
      return fail_with(f, "%s: is longer than %.0f min; expected a take", path,
                       MAX_S / 60.0);
    }
  }
  return true;
}

bool
ears_sound_read(ears_sound* s, const char* path, failure* f)
{
  *s                 = (ears_sound){NULL, 0};
  audio_in* const in = audio_in_open(path, EARS_RATE_HZ, f);
  bool            ok = in && read_all(s, in, path, f);
  audio_in_close(in);
  if (ok && !isfinite(ears_gated_db(s->x, s->n))) {
    ok = fail_with(f, "%s: has no playing above -70 dBFS to measure", path);
  }
  if (!ok) {
    ears_sound_free(s);
  }
  return ok;
}

static ears_sound
of_24_bit(const int32_t* raw, size_t n)
{
  ears_sound s = ears_sound_new(n);
  for (size_t i = 0; i < n; ++i) {
    s.x[i] = (float)raw[i] / 8388608.0F;
  }
  return s;
}

ears_sound
ears_sound_take(take which)
{
  int32_t* const raw = alloc_new(take_frames(), sizeof(*raw));
  alloc_check(take_render(which, raw) ? raw : NULL);
  const ears_sound s = of_24_bit(raw, take_frames());
  free(raw);
  return s;
}

ears_sound
ears_sound_note(take_note note, double seconds, ears_sound* noise)
{
  const size_t skip =
    (size_t)((TAKE_NOTE_ONSET_S - LEAD_IN_S) * EARS_RATE_HZ + 0.5);
  const size_t   n   = (size_t)(seconds * EARS_RATE_HZ);
  int32_t* const raw = alloc_new(skip + n, sizeof(*raw));
  alloc_check(
    take_render_note(TAKE_RHYTHM_LEFT, note, raw, (uint32_t)(skip + n)) ? raw
                                                                        : NULL);
  const ears_sound s = of_24_bit(raw + skip, n);
  if (noise) {
    // Before the pick lands, after the hands have
    const size_t at = (size_t)(NOISE_FROM_S * EARS_RATE_HZ);
    *noise          = of_24_bit(raw + at, (size_t)(NOISE_S * EARS_RATE_HZ));
  }
  free(raw);
  return s;
}

ears_sound
ears_sound_sine(double hz, double rms, double seconds)
{
  ears_sound s = ears_sound_new((size_t)(seconds * EARS_RATE_HZ));
  for (size_t i = 0; i < s.n; ++i) {
    const double turn = fmod(hz * (double)i / EARS_RATE_HZ, 1.0);
    s.x[i]            = (float)(rms * sqrt(2.0) * sin(2.0 * DSP_PI * turn));
  }
  return s;
}

ears_sound
ears_sound_with_noise(const ears_sound* s, double noise_db, size_t tail)
{
  ears_sound   made = ears_sound_new(s->n + tail);
  dice         d    = dice_of(1);
  const double peak = sqrt(3.0) * pow(10.0, noise_db / 20.0);
  memcpy(made.x, s->x, s->n * sizeof(float));
  for (size_t i = 0; i < made.n; ++i) {
    made.x[i] += (float)dice_between(&d, -peak, peak);
  }
  return made;
}
