// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

// Groups through all stages of all channels

#ifndef COMMON_TUBE_TUBE_GAIN_PIPELINE_H
#define COMMON_TUBE_TUBE_GAIN_PIPELINE_H

#include "tube_gain_group.h"

/// Vectors of groups that `n_streams` (stages in a row, in each channel) take
#define N_WORKS(n_streams) (((n_streams) + IN_A_VEC - 1) / IN_A_VEC)

/// Operating points from that of the first stage back to that of the last
#define N_RESTS (1 + (TUBE_STAGES_MAX - 1) * IN_A_VEC)

/// All streams of a call
typedef struct {
  group      fixed[N_WORKS(TUBE_STREAMS_MAX)][TUBE_N_FIXED];
  group      memory[N_WORKS(TUBE_STREAMS_MAX)][TUBE_N_MEMORY];
  tube_gain* stage[TUBE_STREAMS_MAX + 1]; // To an even number
  vec4       rest[N_RESTS];               // From the last group back
} streams;

// NOLINTBEGIN(bugprone-macro-parentheses): names
#define EACH_STREAM(s) \
  _Pragma("GCC unroll 6") for (size_t s = 0; s < n_streams; ++s)
#define EACH_WORK(w) \
  _Pragma("GCC unroll 6") for (size_t w = 0; w < N_WORKS(n_streams); ++w)
// NOLINTEND(bugprone-macro-parentheses)

/// How many groups a stage is behind the one in front of it.  Two alone in one
/// vector go at the pace of the slower: the output of the one must be there
/// before the other begins.
INLINE uint32_t
lag(uint32_t n_streams)
{
  return N_WORKS(n_streams) == 1 ? IN_A_VEC : 1;
}

/// Number `i` of the tube_memory of stream `s`
INLINE vec4*
remembered(streams* all, size_t s, size_t i)
{
  return (vec4*)&all->memory[s / IN_A_VEC][i] + s % IN_A_VEC;
}

/// Take over constants and memories: a compiler can keep these in registers
INLINE void
open_streams(streams* all, uint32_t n_streams)
{
  // An odd stage shares its vector with what nobody looks at
  all->stage[n_streams] = all->stage[0];
  _Pragma("GCC unroll 6") for (size_t s = 0;
                               s < (size_t)IN_A_VEC * N_WORKS(n_streams); ++s)
  {
    const vec4* const fixed  = (const vec4*)&all->stage[s]->fixed;
    const vec4* const memory = (const vec4*)&all->stage[s]->memory;
    vec4* const       to     = (vec4*)all->fixed[s / IN_A_VEC] + s % IN_A_VEC;
    for (size_t i = 0; i < TUBE_N_FIXED; ++i) {
      to[IN_A_VEC * i] = fixed[i];
    }
    _Pragma("GCC unroll 16") for (size_t i = 0; i < TUBE_N_MEMORY; ++i)
    {
      *remembered(all, s, i) = memory[i];
    }
  }
}

INLINE void
close_streams(streams* all, uint32_t n_streams)
{
  EACH_STREAM(s)
  {
    vec4* const memory = (vec4*)&all->stage[s]->memory;
    _Pragma("GCC unroll 16") for (size_t i = 0; i < TUBE_N_MEMORY; ++i)
    {
      memory[i] = *remembered(all, s, i);
    }
  }
}

/// `n` samples from `x`; the last of them in the lanes behind them
INLINE void
take_in(const double* const* x, uint32_t n, group* in)
{
  if (n == TUBE_GROUP_MAX) {
    load_groups(x, in);
    return;
  }
  // Not by way of memory: a load of what several stores wrote waits for them
  const uint32_t i1 = n > 1 ? 1 : 0;
#if LANES == 2
  in->v[0] = (vec){x[0][0], x[0][i1]};
  in->v[1] = ALL(x[0][i1]);
#else
  const vec first = all_of(x, 0);
  const vec rest  = all_of(x, i1);
  in->v[0]        = PICK(first, rest, 0, OTHER, OTHER, OTHER);
#endif
}

INLINE void
put_out(const group* out, uint32_t n, double* const* x)
{
  if (n == TUBE_GROUP_MAX) {
    store_groups(out, x);
    return;
  }
  double  few[IN_A_VEC][TUBE_GROUP_MAX];
  double* to[IN_A_VEC] = {NULL};
  for (uint32_t s = 0; s < IN_A_VEC; ++s) {
    to[s] = few[s];
  }
  store_groups(out, to);
  for (uint32_t s = 0; s < IN_A_VEC; ++s) {
    for (uint32_t i = 0; i < n; ++i) {
      x[s][i] = few[s][i];
    }
  }
}

/// A group of `n` samples of each stream from and to `io`.  Each step waits for
/// the one before: streams take them in turn, so that a processor finds work of
/// others meanwhile.
INLINE void
run_group(streams*       all,
          double* const* io,
          uint32_t       n,
          uint32_t       n_streams,
          uint32_t       n_channels)
{
  work k[N_WORKS(TUBE_STREAMS_MAX)];
  EACH_WORK(w)
  {
    const double* in[IN_A_VEC]   = {NULL};
    const double* rest[IN_A_VEC] = {NULL};
    k[w].fixed                   = all->fixed[w];
    k[w].memory                  = all->memory[w];
    for (uint32_t i = 0; i < IN_A_VEC; ++i) {
      const size_t s = IN_A_VEC * w + i;
      k[w].table[i]  = all->stage[s]->table;
      in[i]          = io[s];
      rest[i] =
        (const double*)&all->rest[s % n_streams / n_channels * lag(n_streams)];
    }
    take_in(in, n, &k[w].in);
    load_groups(rest, &k[w].rest);
  }
#define STEP(function) \
  EACH_WORK(w)         \
  {                    \
    function(&k[w]);   \
  }
  STEP(filter)
  STEP(expect)
  STEP(take_row)
  STEP(take_caps)
  STEP(take_start)
  STEP(locate)
  STEP(invert)
  STEP(gather)
  STEP(take_grid)
  STEP(interpolate)
  STEP(take_mean)
  STEP(sense)
  STEP(sense_b)
  STEP(correct)
  STEP(output)
  STEP(charge)
#undef STEP
  EACH_WORK(w)
  {
    put_out(&k[w].out, n, io + IN_A_VEC * w);
  }
}

/// Next operating point, that of group `i`, and those of the groups behind it
INLINE void
move_rest(streams*              all,
          const tube_rest_ramp* ramp,
          uint32_t              i,
          uint32_t              n,
          uint32_t              late)
{
  _Pragma("GCC unroll 4") for (uint32_t s = late; s > 0; --s)
  {
    all->rest[s] = all->rest[s - 1];
  }
  const double at = ramp->samples + (i + 0.5) * n;
  all->rest[0] = *(const vec4*)&ramp->at.ia + at * *(const vec4*)&ramp->step.ia;
}

INLINE void
keep_memory(streams* all, vec4 (*kept)[TUBE_N_MEMORY], uint32_t n_streams)
{
  EACH_STREAM(s)
  {
    _Pragma("GCC unroll 16") for (size_t i = 0; i < TUBE_N_MEMORY; ++i)
    {
      kept[s][i] = *remembered(all, s, i);
    }
  }
}

INLINE void
restore_memory(streams* all, vec4 (*kept)[TUBE_N_MEMORY], size_t s)
{
  _Pragma("GCC unroll 16") for (size_t i = 0; i < TUBE_N_MEMORY; ++i)
  {
    *remembered(all, s, i) = kept[s][i];
  }
}

/// `n` samples of all channels through `n_stages` stages in a row from `first`
/// on, each lag() groups behind the one in front of it
INLINE void
run_streams(tube_gain* const*     g,
            const tube_rest_ramp* ramp,
            double* const*        x,
            uint32_t              n,
            uint32_t              first,
            uint32_t              n_stages,
            uint32_t              n_channels)
{
  const uint32_t n_streams = n_stages * n_channels;
  const uint32_t size      = g[0]->group_size;
  streams        all;
  EACH_STREAM(s)
  {
    all.stage[s] = g[s % n_channels] + first + s / n_channels;
  }
  memset(all.rest, 0, sizeof(all.rest));
  open_streams(&all, n_streams);

  // Groups of the first stage, and those after that until the last has done
  const uint32_t n_groups             = n / size;
  const uint32_t late                 = (n_stages - 1) * lag(n_streams);
  double         idle[TUBE_GROUP_MAX] = {0.0};
  vec4           kept[TUBE_STREAMS_MAX][TUBE_N_MEMORY];
  keep_memory(&all, kept, n_streams);
  for (uint32_t i = 0; i < n_groups + late; ++i) {
    // Where not all stages have work: those that have none forget what they do
    const bool full = i >= late && i < n_groups;
    double*    io[TUBE_STREAMS_MAX + 1];
    io[n_streams] = idle;
    EACH_STREAM(s)
    {
      // Beyond all if below 0
      const size_t own = i - s / n_channels * lag(n_streams);
      io[s]            = own < n_groups ? x[s % n_channels] + own * size : idle;
    }
    if (!full) {
      keep_memory(&all, kept, n_streams);
    }
    memset(idle, 0, sizeof(idle)); // Who has no work writes there, too
    move_rest(&all, ramp, i, size, late);
    run_group(&all, io, size, n_streams, n_channels);
    EACH_STREAM(s)
    {
      if (!full && io[s] == idle) {
        restore_memory(&all, kept, s);
      }
    }
  }
  close_streams(&all, n_streams);
}

#endif // COMMON_TUBE_TUBE_GAIN_PIPELINE_H
