// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Decides which excerpts of a session are kept for the report

#ifndef PRESETS_DEMO_SESSION_MIX_MIXDOWN_LISTEN_H
#define PRESETS_DEMO_SESSION_MIX_MIXDOWN_LISTEN_H

#include "mixdown_state.h"

/// Length of an excerpt.  Long enough for a few bars, short enough to be
/// remembered while another version plays (common practice).
#define LISTEN_LENGTH_S 12.0

/// Shortest excerpt: loudness needs blocks of 400 ms (ITU-R BS.1770-5)
#define LISTEN_MIN_S 1.0

/// Signals that are kept, which bounds memory and the size of the page.  With
/// more, tracks are kept dry and finished, as many as there is room for.
#define LISTEN_MAX_VERSIONS 64U

/// Decides of which joints each track keeps an excerpt, before it is known
/// where that begins
void
mixdown_plan_clips(mixdown* m);

/// Returns where the excerpt of a track begins by the session, or
/// SESSION_LISTEN_CHOSEN or SESSION_LISTEN_OFF
float
mixdown_listen_s(const mixdown* m, const lane* l);

/// Chooses the excerpts of the mix and of each track, and makes the lanes keep
/// them.  The lanes are started; those that are taken have theirs.  Reads the
/// levels of all tracks if it needs them, or for the files of tracks that are
/// kept.  Returns false with a failure, an empty one if
/// stopped.
bool
mixdown_listen(mixdown* m, failure* f);

#endif // PRESETS_DEMO_SESSION_MIX_MIXDOWN_LISTEN_H
