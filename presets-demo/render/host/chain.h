// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Stages in series, with a meter in every joint.
///
/// The output keeps the latency: drop its first chain_latency_frames().  Levels
/// are measured with the latency taken out, so that the input and the output of
/// a stage are the same playing.

#ifndef PRESETS_DEMO_RENDER_HOST_CHAIN_H
#define PRESETS_DEMO_RENDER_HOST_CHAIN_H

#include "catalogue.h"
#include "host.h"
#include "presets-demo/render/audio/level_meter.h"

typedef struct chain chain;

/// Figures of a stage, or of the whole chain
typedef struct {
  const char* stem;              ///< NULL for the whole chain
  double      in_db, out_db;     ///< Gated RMS, see level_meter.h
  double      peak_db;           ///< Of the output
  double      reduction_mean_db; ///< Over blocks whose input is above
                                 ///< LEVEL_GATE_DBFS; NAN if the stage has no
                                 ///< control output `reduction_db`
  double   reduction_max_db;
  uint32_t latency_frames;
  double   time_s; ///< Processor time of the stage so far, measured in every
                   ///< block of the first second, then in one of eight
} chain_stats;

/// Called for each joint with each measured piece of its signal; joint 0 is the
/// input, joint i + 1 the output of stage i
typedef struct {
  void (*look)(void*               user,
               uint32_t            joint,
               const float* const* x,
               uint32_t            n_channels,
               uint32_t            n);
  void* user;
} chain_watch;

/// Makes stages for a signal of 1 or 2 channels.  Takes the form of each stage
/// that has as many inputs as the signal has channels there; a stage that only
/// exists in stereo gets a mono signal on both inputs.  Returns NULL if a stage
/// cannot run.
chain*
chain_new(host*                h,
          const part_settings* stages,
          uint32_t             n_stages,
          uint32_t             n_channels,
          double               rate_hz,
          failure*             f);

void
chain_free(chain* c);

/// Returns the number of output channels, 1 or 2
uint32_t
chain_n_out(const chain* c);

/// Returns the number of channels in a joint, 1 or 2: joint 0 is the input,
/// joint i + 1 the output of stage i
uint32_t
chain_n_channels(const chain* c, uint32_t place);

uint32_t
chain_latency_frames(const chain* c);

/// Measures only the first `n` frames, of which some may have passed; without
/// this call, all
void
chain_measure_frames(chain* c, uint64_t n);

/// Returns the meter of a joint
const level_meter*
chain_level(const chain* c, uint32_t place);

/// Calls `watch` from now on
void
chain_set_watch(chain* c, chain_watch watch);

/// Returns a control output of a stage as of its last block; NAN if none has
/// that symbol
double
chain_meter(const chain* c, uint32_t stage, const char* symbol);

/// Plays any number of frames; `out` may be `in`.  Returns false if a stage
/// breaks its promise: finite output and constant latency.
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
