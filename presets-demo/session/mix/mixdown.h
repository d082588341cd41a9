// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Plays a session: tracks through their setups into the sends, and all of them
/// into the bus, whose output is the mix.
///
///   track --> setup --> gain, pan --+---------------> bus setup --> gain -->
///   mix
///                                   |                  ^
///                                   +-> send level --> send setup --> gain
///
/// Latency is taken out everywhere: all files line up with the tracks.  Lanes
/// are played a piece at a time, side by side in several threads, a send one
/// piece behind the tracks and the bus behind both, so that no sample depends
/// on which thread is first.

#ifndef PRESETS_DEMO_SESSION_MIX_MIXDOWN_H
#define PRESETS_DEMO_SESSION_MIX_MIXDOWN_H

#include "lane.h"
#include "presets-demo/render/program/whole_folder.h"
#include "presets-demo/session/file/session_file.h"
#include "presets-demo/session/measure/stereo_image.h"

#include "presets-demo/render/program/progress.h"

#include <signal.h>

typedef struct mixdown mixdown;

typedef struct {
  const session*   session;
  const catalogue* parts;
  host*            host;
  whole_folder*    folder; ///< NULL: writes no sound, and keeps only tracks to
                           ///< listen to
  const char* cache;       ///< Folder of rendered tracks; NULL: without
  const bool* chosen; ///< By track: only these are rendered, into the cache
                      ///< and without a mix; NULL: all
  bool                         is_assembled; ///< No track may be missing there
  uint32_t                     n_threads;
  const volatile sig_atomic_t* stop;
} mixdown_spec;

/// Prepares a session, looks at the recordings of its tracks, finds those that
/// need not be played, and opens its files.  All that the specification points
/// to must outlive it.  Returns NULL with a failure, an empty one if stopped.
mixdown*
mixdown_new(const mixdown_spec* spec, failure* f);

void
mixdown_free(mixdown* m);

/// Plays it and completes the files, those of the cache too.  A lane that could
/// not be kept there says so; it is no failure.  Returns false with a failure,
/// an empty one if stopped.
bool
mixdown_play(mixdown* m, progress* bar, failure* f);

// Results

uint32_t
mixdown_n_lanes(const mixdown* m);

/// Returns a lane: the tracks in order, then the sends in use, then the bus
const lane*
mixdown_lane(const mixdown* m, uint32_t i);

/// Returns the last lane, whose `out` is the mix
const lane*
mixdown_bus(const mixdown* m);

/// Returns the keys of the tracks; NULL without a cache
const digest_value*
mixdown_keys(const mixdown* m);

/// Returns the stereo image of the mix
const stereo_image*
mixdown_image(const mixdown* m);

double
mixdown_rate_hz(const mixdown* m);

double
mixdown_length_s(const mixdown* m);

/// Returns the number of samples above 0 dBFS in a lane's file, or in the mix
uint64_t
mixdown_n_over(const mixdown* m, uint32_t i);

/// Returns the peak of the last 10 ms of the mix: what the end cuts off
double
mixdown_end_peak_db(const mixdown* m);

#endif // PRESETS_DEMO_SESSION_MIX_MIXDOWN_H
