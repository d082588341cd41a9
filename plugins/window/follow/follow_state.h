// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// What the files of following share: private to follow*.c

#ifndef PLUGINS_WINDOW_FOLLOW_FOLLOW_STATE_H
#define PLUGINS_WINDOW_FOLLOW_FOLLOW_STATE_H

#include "follow.h"

/// Closer than that on the scale is there: a float has as much
#define FOLLOW_NEAR 2e-6

/// Returns parts of a scale for a share of it
int64_t
follow_parts(double share);

/// Returns the value at a place, without the dust of adding up
float
follow_value(const param_info* info, double place);

journal_key
follow_key(const follow* f);

/// Stands at a shared place, with nothing of its own
void
follow_stand_at(follow* f, uint32_t shared);

/// Goes on to where the others are, once all controls are there or held
void
follow_arrive(follow* f);

/// Writes what is its own into the journal, and its place into the controls
void
follow_save_place(follow* f);

/// Reads the journal anew
void
follow_look(follow* f);

void
follow_say(const follow* f, message_kind kind, uint32_t a, int32_t b);

/// Says its place and its name, if it is in a group
void
follow_say_here(const follow* f);

/// Lets go of what the leader holds
void
follow_let_go(follow* f);

/// Says that a gesture goes on; gives up one that has gone silent
void
follow_watch(follow* f);

#endif // PLUGINS_WINDOW_FOLLOW_FOLLOW_STATE_H
