// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// The joint between two stages of a chain: a block of signal, and a meter that
/// skips the latency

#ifndef PRESETS_DEMO_RENDER_HOST_CHAIN_JOINT_H
#define PRESETS_DEMO_RENDER_HOST_CHAIN_JOINT_H

#include "catalogue.h"
#include "presets-demo/render/audio/level_meter.h"

typedef struct {
  float*      buffers[PART_MAX_CHANNELS]; ///< HOST_BLOCK_FRAMES each
  uint32_t    n_channels;
  uint32_t    latency_frames; ///< Of all stages before it
  uint64_t    n_skip;         ///< Frames of latency still to skip
  uint64_t    n_left;         ///< Frames to measure after that
  bool        is_past;        ///< Nothing was left when the block began
  level_meter meter;
} chain_joint;

/// Begins without latency, to be measured without end
void
chain_joint_init(chain_joint* j, uint32_t n_channels, double rate_hz);

void
chain_joint_clear(chain_joint* j);

/// Measures the `n` frames in the buffers; returns false if one of them is not
/// finite
bool
chain_joint_measure(chain_joint* j, uint32_t n);

/// Returns the mean square of the `n` frames in the buffers
double
chain_joint_power(const chain_joint* j, uint32_t n);

#endif // PRESETS_DEMO_RENDER_HOST_CHAIN_JOINT_H
