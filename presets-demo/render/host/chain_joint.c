// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "chain_joint.h"

#include "host.h"
#include "presets-demo/render/program/alloc.h"

#include <stdlib.h>

void
chain_joint_init(chain_joint* j, uint32_t n_channels, double rate_hz)
{
  *j = (chain_joint){.n_channels = n_channels, .n_left = UINT64_MAX};
  for (uint32_t k = 0; k < n_channels; ++k) {
    j->buffers[k] = alloc_new(HOST_BLOCK_FRAMES, sizeof(float));
  }
  level_meter_init(&j->meter, rate_hz);
}

void
chain_joint_clear(chain_joint* j)
{
  free(j->buffers[0]);
  free(j->buffers[1]);
  level_meter_clear(&j->meter);
}

bool
chain_joint_measure(chain_joint* j, uint32_t n)
{
  const uint32_t skip = j->n_skip < n ? (uint32_t)j->n_skip : n;
  const uint32_t rest = n - skip;
  const uint32_t take = j->n_left < rest ? (uint32_t)j->n_left : rest;
  const float*   from[PART_MAX_CHANNELS];
  for (uint32_t k = 0; k < j->n_channels; ++k) {
    from[k] = j->buffers[k] + skip;
  }
  j->is_past = !j->n_left;
  j->n_skip -= skip;
  j->n_left -= take;
  return level_meter_add(&j->meter, from, j->n_channels, take);
}

double
chain_joint_power(const chain_joint* j, uint32_t n)
{
  double sum  = 0.0;
  float  peak = 0.0F;
  for (uint32_t k = 0; k < j->n_channels; ++k) {
    sum += level_sum_of_squares(j->buffers[k], n, &peak);
  }
  return sum / ((double)n * j->n_channels);
}
