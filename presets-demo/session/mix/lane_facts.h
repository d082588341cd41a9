// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// What the file of a track (track_file.h) says besides its sound

#ifndef PRESETS_DEMO_SESSION_MIX_LANE_FACTS_H
#define PRESETS_DEMO_SESSION_MIX_LANE_FACTS_H

#include "lane.h"
#include "presets-demo/session/cache/pack.h"
#include "presets-demo/session/listen/listen_choice.h"

/// What is known before the lane plays: the result of looking at its recording,
/// and the levels in it
void
lane_facts_head(pack* p, take_result* take, listen_levels* levels);

/// What is known behind: figures, curves and excerpts.  A lane that is read has
/// its setup; it gets all that it would have after lane_end(), but for its
/// output.
void
lane_facts_pack(pack* p, lane* l);

#endif // PRESETS_DEMO_SESSION_MIX_LANE_FACTS_H
