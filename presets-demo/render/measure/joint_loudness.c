// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "joint_loudness.h"

#include "presets-demo/render/audio/audio_in.h"
#include "presets-demo/render/audio/level_meter.h"
#include "presets-demo/render/program/alloc.h"

#include <ebur128.h>

#include <math.h>
#include <stdlib.h>

#define PIECE_FRAMES 512U

struct joint_loudness {
  uint32_t        n_joints;
  ebur128_state** joints; ///< NULL if libebur128 cannot measure at this rate
};

static void
look(void*               user,
     uint32_t            joint,
     const float* const* x,
     uint32_t            n_channels,
     uint32_t            n)
{
  const joint_loudness* const l = (const joint_loudness*)user;
  ebur128_state* const        s = l->joints[joint];
  for (uint32_t i = 0; s && i < n; i += PIECE_FRAMES) {
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

joint_loudness*
joint_loudness_new(chain* c, double rate_hz)
{
  joint_loudness* const l = alloc_new(1, sizeof(*l));
  l->n_joints             = chain_n_stages(c) + 1;
  l->joints               = alloc_new(l->n_joints, sizeof(ebur128_state*));
  for (uint32_t i = 0; i < l->n_joints; ++i) {
    const uint32_t n_channels = chain_n_channels(c, i);
    const bool     is_end     = i == 0 || i + 1 == l->n_joints;
    l->joints[i] = ebur128_init(n_channels, (unsigned long)lrint(rate_hz),
                                is_end ? EBUR128_MODE_I | EBUR128_MODE_TRUE_PEAK
                                       : EBUR128_MODE_I);
    if (l->joints[i] && n_channels == 1) {
      (void)ebur128_set_channel(l->joints[i], 0, EBUR128_DUAL_MONO);
    }
  }
  chain_set_watch(c, (chain_watch){.look = look, .user = l});
  return l;
}

void
joint_loudness_free(joint_loudness* l)
{
  if (l) {
    for (uint32_t i = 0; i < l->n_joints; ++i) {
      if (l->joints[i]) {
        ebur128_destroy(&l->joints[i]);
      }
    }
    free(l->joints);
    free(l);
  }
}

double
joint_loudness_lufs(const joint_loudness* l, uint32_t joint)
{
  double lufs = 0.0;
  return l->joints[joint] && !ebur128_loudness_global(l->joints[joint], &lufs)
           ? lufs
           : (double)NAN;
}

double
joint_loudness_true_peak_db(const joint_loudness* l, uint32_t joint)
{
  const ebur128_state* const s   = l->joints[joint];
  double                     top = 0.0;
  for (uint32_t k = 0; s && k < s->channels; ++k) {
    double peak = 0.0;
    if (ebur128_true_peak(l->joints[joint], k, &peak)) {
      return (double)NAN;
    }
    top = fmax(top, peak);
  }
  return s ? level_power_db(top * top) : (double)NAN;
}
