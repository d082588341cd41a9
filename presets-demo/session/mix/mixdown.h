// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Playing a session: tracks through their setups, into the sends, all of them
/// into the bus, and out comes the mix.
///
///   track --> setup --> gain, pan --+---------------> bus setup --> gain -->
///   mix
///                                   |                  ^
///                                   +-> send level --> send setup --> gain
///
/// Latency is taken out everywhere: all files line up with the tracks.  Lanes
/// are played a piece at a time, side by side in several threads, a send one
/// piece behind the tracks and the bus behind both, so that no sample depends
/// on who comes first.

#ifndef PRESETS_DEMO_SESSION_MIX_MIXDOWN_H
#define PRESETS_DEMO_SESSION_MIX_MIXDOWN_H

#include "lane.h"
#include "presets-demo/render/program/whole_folder.h"
#include "presets-demo/session/file/session_file.h"
#include "presets-demo/session/measure/stereo_image.h"

#include "presets-demo/render/program/progress.h"

#include <signal.h>

typedef struct mixdown mixdown;

/// Ready to play, all its files open in `folder`.  What is passed must outlive
/// it.
mixdown*
mixdown_new(const session*   s,
            const catalogue* parts,
            host*            h,
            whole_folder*    folder,
            uint32_t         n_threads,
            failure*         f);

void
mixdown_free(mixdown* m);

/// Play it, and complete the files.  False with a failure, an empty one if
/// stopped.
bool
mixdown_play(mixdown*                     m,
             progress*                    bar,
             const volatile sig_atomic_t* stop,
             failure*                     f);

// What came out

uint32_t
mixdown_n_lanes(const mixdown* m);

/// Tracks in their order, then the sends there are, then the bus
const lane*
mixdown_lane(const mixdown* m, uint32_t i);

/// The last: its `out` is the mix
const lane*
mixdown_bus(const mixdown* m);

/// Of the mix
const stereo_image*
mixdown_image(const mixdown* m);

double
mixdown_rate_hz(const mixdown* m);

double
mixdown_length_s(const mixdown* m);

/// Samples of a lane's file, or of the mix, above 0 dBFS
uint64_t
mixdown_n_over(const mixdown* m, uint32_t i);

/// Of the last 10 ms of the mix: what the end cut off
double
mixdown_end_peak_db(const mixdown* m);

#endif // PRESETS_DEMO_SESSION_MIX_MIXDOWN_H
