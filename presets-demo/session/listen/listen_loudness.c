// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "listen_loudness.h"

#include "presets-demo/render/audio/level_meter.h"

#include <ebur128.h>

#include <math.h>

#define PIECE_FRAMES 512U

static void
add(ebur128_state* e, const listen_clip* c)
{
  for (uint32_t i = 0; i < c->n; i += PIECE_FRAMES) {
    const uint32_t left = c->n - i;
    const uint32_t now  = left < PIECE_FRAMES ? left : PIECE_FRAMES;
    float          frames[2 * PIECE_FRAMES];
    for (uint32_t j = 0; j < now; ++j) {
      for (uint32_t k = 0; k < c->n_channels; ++k) {
        frames[j * c->n_channels + k] = c->x[k][i + j];
      }
    }
    (void)ebur128_add_frames_float(e, frames, now);
  }
}

listen_loudness
listen_loudness_of(const listen_clip* c, double rate_hz)
{
  listen_loudness l = {(double)NAN, (double)NAN};
  ebur128_state*  e = ebur128_init(c->n_channels, (unsigned long)lrint(rate_hz),
                                   EBUR128_MODE_I | EBUR128_MODE_TRUE_PEAK);
  if (!e) {
    return l;
  }
  if (c->n_channels == 1) {
    (void)ebur128_set_channel(e, 0, EBUR128_DUAL_MONO);
  }
  add(e, c);
  double top = 0.0;
  for (uint32_t k = 0; k < c->n_channels; ++k) {
    double peak = 0.0;
    (void)ebur128_true_peak(e, k, &peak);
    top = fmax(top, peak);
  }
  if (!ebur128_loudness_global(e, &l.lufs)) {
    l.true_peak_db = level_power_db(top * top);
  }
  ebur128_destroy(&e);
  return l;
}
