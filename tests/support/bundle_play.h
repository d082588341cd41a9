// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Audio, players and comparisons for tests that loop over all plugins

#ifndef TESTS_SUPPORT_BUNDLE_PLAY_H
#define TESTS_SUPPORT_BUNDLE_PLAY_H

#include "the_bundle.h"

#define RATE_HZ 48000.0
#define N       24000U

/// Audio for one run: two channels in and out
typedef struct {
  float  in_data[2][N], out_data[2][N];
  float* in[2];
  float* out[2];
} audio;

/// Makes a decaying mixture of tones and noise around -18 dBFS RMS, with a
/// pause
static inline void
audio_fill(audio* a)
{
  uint32_t seed = 1;
  for (uint32_t k = 0; k < 2; ++k) {
    a->in[k]  = a->in_data[k];
    a->out[k] = a->out_data[k];
    for (uint32_t i = 0; i < N; ++i) {
      const double t     = i / RATE_HZ;
      const double decay = exp(-8.0 * fmod(t, 0.25));
      const double tone  = sin(2.0 * DSP_PI * 110.0 * (k + 1) * t) +
                          0.5 * sin(2.0 * DSP_PI * 1730.0 * t);
      a->in[k][i] =
        i > N / 2 && i < N * 5 / 8
          ? 0.0F
          : (float)(decay * (0.3 * tone + 0.05 * (double)check_noise(&seed)));
    }
  }
}

/// Sets the controls anywhere in their ranges, differently for each `seed`
static inline void
player_shuffle(player* y, uint32_t seed)
{
  for (uint32_t i = 1; i < y->n_params; ++i) {
    const param_info* const p = shell_param(y->form.plugin, i);
    const float             u = 0.5F * (1.0F + check_noise(&seed));
    y->control[i]             = p->min + u * (p->max - p->min);
  }
}

static inline void
assert_same(const audio* a, const audio* b, const plugin_form* form)
{
  for (uint32_t k = 0; k < form->n_out; ++k) {
    for (uint32_t i = 0; i < N; ++i) {
      if (memcmp(&a->out[k][i], &b->out[k][i], sizeof(float)) != 0) {
        fail_msg("%s: frame %u of output %u is %.9g, not %.9g", form->uri, i, k,
                 (double)a->out[k][i], (double)b->out[k][i]);
      }
    }
  }
}

static inline void
assert_finite(const float* x, uint32_t n, const char* what)
{
  for (uint32_t i = 0; i < n; ++i) {
    if (!isfinite(x[i])) {
      fail_msg("%s: frame %u is not finite", what, i);
    }
  }
}

static audio one, two;

/// Plays `a` with a new player; `shuffle` moves its controls, 0 leaves them
static inline void
play_fresh(const plugin_form* form, audio* a, uint32_t block, uint32_t shuffle)
{
  player y = player_new(&the_bundle, form, RATE_HZ);
  if (shuffle) {
    player_shuffle(&y, shuffle);
  }
  player_start(&y);
  player_play(&y, a->in, a->out, N, block);
  player_free(&y);
}

#endif // TESTS_SUPPORT_BUNDLE_PLAY_H
