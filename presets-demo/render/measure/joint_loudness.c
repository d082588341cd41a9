// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "joint_loudness.h"

#include "loudness_bank.h"
#include "presets-demo/render/audio/audio_in.h"
#include "presets-demo/render/audio/level_meter.h"
#include "presets-demo/render/program/alloc.h"

#include <ebur128.h>

#include <math.h>
#include <stdlib.h>

#define PIECE_FRAMES 512U

struct joint_loudness {
  uint32_t       n_joints;
  signal_rows*   rows;
  loudness_bank* bank;
  ebur128_state* ends[2]; ///< NULL if the true peak is not measured
};

static void
add_true_peak(ebur128_state* s, const float* const* x, uint32_t n)
{
  const uint32_t n_channels = s->channels;
  for (uint32_t i = 0; i < n; i += PIECE_FRAMES) {
    const uint32_t now = n - i < PIECE_FRAMES ? n - i : PIECE_FRAMES;
    float          frames[AUDIO_MAX_CHANNELS * PIECE_FRAMES];
    for (uint32_t j = 0; j < now; ++j) {
      for (uint32_t k = 0; k < n_channels; ++k) {
        frames[j * n_channels + k] = x[k][i + j];
      }
    }
    (void)ebur128_add_frames_float(s, frames, now);
  }
}

static void
look(void*               user,
     uint32_t            joint,
     const float* const* x,
     uint32_t            n_channels,
     uint32_t            n)
{
  (void)n_channels;
  const joint_loudness* const l       = (const joint_loudness*)user;
  const bool                  is_last = joint + 1 == l->n_joints;
  signal_rows_add(l->rows, joint, x, n);
  if (joint == 0 && l->ends[0]) {
    add_true_peak(l->ends[0], x, n);
  }
  if (is_last && l->ends[1]) {
    add_true_peak(l->ends[1], x, n);
  }
  if (is_last) {
    const uint32_t n_ready = signal_rows_n_ready(l->rows);
    loudness_bank_add(l->bank, l->rows, n_ready);
    signal_rows_drop(l->rows, n_ready);
  }
}

joint_loudness*
joint_loudness_new(chain* c, double rate_hz, bool has_true_peak)
{
  joint_loudness* const l    = alloc_new(1, sizeof(*l));
  l->n_joints                = chain_n_stages(c) + 1;
  uint32_t* const n_channels = alloc_new(l->n_joints, sizeof(uint32_t));
  for (uint32_t i = 0; i < l->n_joints; ++i) {
    n_channels[i] = chain_n_channels(c, i);
  }
  l->rows = signal_rows_new(n_channels, l->n_joints);
  l->bank = loudness_bank_new(n_channels, l->n_joints, rate_hz);
  for (uint32_t i = 0; has_true_peak && i < 2; ++i) {
    l->ends[i] =
      ebur128_init(n_channels[i ? l->n_joints - 1 : 0],
                   (unsigned long)lrint(rate_hz), EBUR128_MODE_TRUE_PEAK);
  }
  free(n_channels);
  chain_set_watch(c, (chain_watch){.look = look, .user = l});
  return l;
}

void
joint_loudness_free(joint_loudness* l)
{
  if (l) {
    for (uint32_t i = 0; i < 2; ++i) {
      if (l->ends[i]) {
        ebur128_destroy(&l->ends[i]);
      }
    }
    loudness_bank_free(l->bank);
    signal_rows_free(l->rows);
    free(l);
  }
}

double
joint_loudness_lufs(const joint_loudness* l, uint32_t joint)
{
  return loudness_bank_lufs(l->bank, joint);
}

double
joint_loudness_true_peak_db(const joint_loudness* l, uint32_t joint)
{
  ebur128_state* const s   = l->ends[joint ? 1 : 0];
  double               top = 0.0;
  for (uint32_t k = 0; s && k < s->channels; ++k) {
    double peak = 0.0;
    if (ebur128_true_peak(s, k, &peak)) {
      return (double)NAN;
    }
    top = fmax(top, peak);
  }
  return s ? level_power_db(top * top) : (double)NAN;
}
