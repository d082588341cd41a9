// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Stages one after the other, with a meter in every joint.
///
/// The latency is left in the output: chain_latency_frames() of it are to be
/// dropped in front.  Levels are measured with the latency taken out, so that
/// what goes into a stage and what comes out are the same playing.

#ifndef PRESETS_DEMO_RENDER_HOST_CHAIN_H
#define PRESETS_DEMO_RENDER_HOST_CHAIN_H

#include "catalogue.h"
#include "host.h"

typedef struct chain chain;

/// What happened in a stage, or in the whole chain
typedef struct {
  const char* stem;              ///< NULL of the whole chain
  double      in_db, out_db;     ///< Gated RMS, see level_meter.h
  double      peak_db;           ///< Of the output
  double      reduction_mean_db; ///< Over blocks whose input is above
                                 ///< LEVEL_GATE_DBFS; NAN if the stage has no
                                 ///< control output `reduction_db`
  double   reduction_max_db;
  uint32_t latency_frames;
  double   time_s; ///< Of one processor in the stage so far
} chain_stats;

/// Who looks on: called for each joint with each piece of what is measured
/// there, joint 0 being the input and joint i + 1 the output of stage i
typedef struct {
  void (*look)(void*               user,
               uint32_t            joint,
               const float* const* x,
               uint32_t            n_channels,
               uint32_t            n);
  void* user;
} chain_watch;

/// Stages for a signal of 1 or 2 channels.  Of each stage the form is taken
/// that has as many inputs as the signal has channels there; a form that only
/// exists in stereo gets a mono signal on both.  NULL if a stage cannot run.
chain*
chain_new(host*                h,
          const part_settings* stages,
          uint32_t             n_stages,
          uint32_t             n_channels,
          double               rate_hz,
          failure*             f);

void
chain_free(chain* c);

/// 1 or 2
uint32_t
chain_n_out(const chain* c);

/// In a joint, 1 or 2: joint 0 is the input, joint i + 1 the output of stage i
uint32_t
chain_n_channels(const chain* c, uint32_t place);

uint32_t
chain_latency_frames(const chain* c);

/// Measure only so many frames from the start; all without
void
chain_measure_frames(chain* c, uint64_t n);

/// Have somebody look on from now
void
chain_set_watch(chain* c, chain_watch watch);

/// A control output of a stage as it is after its last block; NAN if there is
/// none of that symbol
double
chain_meter(const chain* c, uint32_t stage, const char* symbol);

/// Play any number of frames; `out` may be `in`.  False if a stage breaks
/// what it promised: a finite output and a constant latency.
bool
chain_run(chain*              c,
          const float* const* in,
          float* const*       out,
          uint32_t            n,
          failure*            f);

uint32_t
chain_n_stages(const chain* c);

chain_stats
chain_stage_stats(const chain* c, uint32_t stage);

chain_stats
chain_total_stats(const chain* c);

#endif // PRESETS_DEMO_RENDER_HOST_CHAIN_H
