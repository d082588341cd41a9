// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Tracks that are taken from the files of earlier runs, and those that get
/// files for later ones

#ifndef PRESETS_DEMO_SESSION_MIX_MIXDOWN_CACHE_H
#define PRESETS_DEMO_SESSION_MIX_MIXDOWN_CACHE_H

#include "mixdown_state.h"

/// Works out the keys of the chosen tracks and opens the files that are there:
/// those lanes are `taken`, with their `take` and their levels.  The setups are
/// loaded, the recordings open, the sends and the bus started.  A file that is
/// no good is noted in its lane's `take_failure`.  Returns false with a
/// failure, an empty one if stopped.
bool
mixdown_take_tracks(mixdown* m, failure* f);

/// Begins the files of the tracks that are played.  They are started, and their
/// levels read.
void
mixdown_begin_keeping(mixdown* m);

/// Plays the lanes that are kept to their ends, which lie behind that of the
/// piece: the sends and the bus look ahead.  Returns false with a failure, an
/// empty one if stopped.
bool
mixdown_play_on(mixdown* m, progress* bar, failure* f);

/// Completes the files of tracks that have been played, after lane_end()
void
mixdown_end_keeping(mixdown* m);

#endif // PRESETS_DEMO_SESSION_MIX_MIXDOWN_CACHE_H
