// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Finds flat tops and dropouts in one channel, from run to run of equal
/// samples.  Fixed memory; any number of frames.
///
/// Flat tops: three equal samples or more, within 0.1 dB of the highest (or of
/// the lowest) sample, that the wave reaches and leaves in steps of three
/// quantisation steps or more; where there is one, those that only graze the
/// rail count as well.  So the rail may be below full scale, and different on
/// each side.  The smallest step that the channel makes counts as its
/// quantisation step: a coarsely quantised, soft, low note stays on its top for
/// a few samples as well, but gets there step by step.
///
/// Dropouts: exact zeros for 1 to 100 ms between loud sound, into which or out
/// of which the wave jumps.

#ifndef PRESETS_DEMO_RENDER_TAKE_TAKE_RUNS_H
#define PRESETS_DEMO_RENDER_TAKE_TAKE_RUNS_H

#include <stdbool.h>
#include <stdint.h>

#define TAKE_RUNS_LOW_DB (-120)
#define TAKE_RUNS_BINS   181 ///< 1 dB each, to +60 dBFS

/// How much was found, and the frame of the first
typedef struct {
  uint64_t n, n_frames, first;
} run_count;

/// Flat tops on one side of the wave
typedef struct {
  float     top;   ///< Of the runs that count
  run_count steep; ///< With steps that tell a rail
  run_count all;   ///< With those that graze it
} flat_side;

typedef struct {
  uint64_t at; ///< Frames so far
  uint32_t hold_frames, min_gap, max_gap, max_flat;

  // The present run of equal samples
  float    last, before, step_in;
  uint64_t run;      ///< Its frames
  bool     is_whole; ///< It has a sample before it

  float     peak, high, low;
  float     smallest_step;
  flat_side flat[2]; ///< Above, below

  // Dropouts, by the level beside them
  float     hold, hold_before; ///< Peaks of the last one to two 5 ms
  uint32_t  n_hold;
  float     gap_before, gap_after;
  float     gap_jump;
  uint64_t  gap_first, gap_frames;
  uint32_t  gap_wait; ///< Frames to hear after it
  run_count gaps[TAKE_RUNS_BINS];
} take_runs;

void
take_runs_init(take_runs* r, double rate_hz);

void
take_runs_add(take_runs* r, const float* x, uint32_t n);

/// Returns the flat tops
run_count
take_runs_clipped(const take_runs* r);

/// Returns the highest magnitude of flat tops that were counted
float
take_runs_rail(const take_runs* r);

/// Returns the dropouts between sound that peaks above a level
run_count
take_runs_dropouts(const take_runs* r, double above_dbfs);

/// Adds two counts up
run_count
run_count_sum(run_count a, run_count b);

#endif // PRESETS_DEMO_RENDER_TAKE_TAKE_RUNS_H
