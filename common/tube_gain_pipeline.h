// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

// Groups through all stages of all channels.  No guard: tube_gain_run.c
// includes this once per width of vector.

#include "tube_gain_group.h"

/// Operating point `at` samples after the start of the ramp
INLINE void
NAME(take_rest)(const tube_rest_ramp* ramp, double at, work* k)
{
  group start, step;
  NAME(load)(&ramp->at.ia, &start, TUBE_GROUP_MAX); // And ig, a, b
  NAME(load)(&ramp->step.ia, &step, TUBE_GROUP_MAX);
  EACH(h)
  {
    k->rest.v[h] = start.v[h] + at * step.v[h];
  }
}

/// A group of `n` samples at i of each of `n_streams` (both constants where
/// this is inlined) stages in a row, each of which is a group behind the one in
/// front of it, in each channel.  Each step waits for the one before: stages
/// take them in turn, so that a processor finds work of others meanwhile.
INLINE void
NAME(run_streams)(tube_gain* const*     g,
                  const tube_rest_ramp* ramp,
                  double* const*        x,
                  uint32_t              i,
                  uint32_t              n,
                  uint32_t              first,
                  uint32_t              n_stages,
                  uint32_t              n_channels)
{
  enum { most = TUBE_STAGES_MAX * TUBE_CHANNELS_MAX };
  work       k[most];
  tube_gain* stage[most];
  double*    io[most];

  const uint32_t n_streams = n_stages * n_channels;
#define EACH_STREAM \
  _Pragma("GCC unroll 6") for (uint32_t s = 0; s < n_streams; ++s)
  EACH_STREAM
  {
    const uint32_t late = i - s / n_channels * n;
    stage[s]            = g[s % n_channels] + first + s / n_channels;
    io[s]               = x[s % n_channels] + late;
    NAME(take_rest)(ramp, ramp->samples + (double)late + 0.5 * n, &k[s]);
    NAME(filter)(stage[s], &k[s], io[s], n);
  }
#define STEP(function)                  \
  EACH_STREAM                           \
  {                                     \
    NAME(function)(stage[s], &k[s], n); \
  }
  STEP(expect)
  STEP(take_row)
  STEP(locate)
  STEP(invert)
  STEP(take_start)
  STEP(gather)
  STEP(take_grid)
  STEP(interpolate)
  STEP(take_mean)
  STEP(correct)
  STEP(output)
  EACH_STREAM
  {
    NAME(store)(&k[s].out, io[s], n);
  }
  STEP(charge)
#undef STEP
#undef EACH_STREAM
}

/// One channel or two, all stages: those behind follow a group later
INLINE void
NAME(run_pipeline)(tube_gain* const*     g,
                   const tube_rest_ramp* ramp,
                   double* const*        x,
                   uint32_t              n,
                   uint32_t              size,
                   uint32_t              n_stages,
                   uint32_t              n_channels)
{
  // Where not all stages have work: one by one
  const uint32_t end = n + (n_stages - 1) * size;
  for (uint32_t i = 0; i < end; i += size) {
    if (i >= (n_stages - 1) * size && i < n) {
      NAME(run_streams)(g, ramp, x, i, size, 0, n_stages, n_channels);
      continue;
    }
    for (uint32_t s = 0; s < n_stages; ++s) {
      if (i >= s * size && i - s * size < n) {
        NAME(run_streams)(g, ramp, x, i - s * size, size, s, 1, n_channels);
      }
    }
  }
}

/// Stage by stage
INLINE void
NAME(run_plainly)(tube_gain* const*     g,
                  const tube_rest_ramp* ramp,
                  double* const*        x,
                  uint32_t              n,
                  uint32_t              size,
                  uint32_t              n_stages,
                  uint32_t              n_channels)
{
  for (uint32_t s = 0; s < n_stages; ++s) {
    for (uint32_t c = 0; c < n_channels; ++c) {
      for (uint32_t i = 0; i < n; i += size) {
        NAME(run_streams)(g + c, ramp, x + c, i, size, s, 1, 1);
      }
    }
  }
}

#undef vec
#undef mask
#undef group
#undef places
#undef weights
#undef work
#undef EACH
#undef SELECT
#undef ALL
#undef N_VECS
