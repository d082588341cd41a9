// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// The place between two stages of a chain: a block of signal, and a meter that
/// waits until the signal gets there

#ifndef PRESETS_DEMO_JOINT_H
#define PRESETS_DEMO_JOINT_H

#include "catalogue.h"
#include "presets-demo/render/audio/level_meter.h"

typedef struct {
  float*      buffers[PART_MAX_CHANNELS]; ///< HOST_BLOCK_FRAMES each
  uint32_t    n_channels;
  uint32_t    latency_frames; ///< Of all stages before it
  uint64_t    n_skip;         ///< Frames until the signal gets here
  uint64_t    n_left;         ///< Frames to measure then
  level_meter meter;
} joint;

/// Without latency, and to be measured without end
void
joint_init(joint* j, uint32_t n_channels, double rate_hz);

void
joint_clear(joint* j);

/// Take the `n` frames in the buffers into the meter; false if one of them is
/// not finite
bool
joint_measure(joint* j, uint32_t n);

/// Mean square of the `n` frames in the buffers
double
joint_power(const joint* j, uint32_t n);

#endif // PRESETS_DEMO_JOINT_H
