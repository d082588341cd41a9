// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// A and B: two memories of a stage's controls, compared at equal loudness, or
/// blind.  Private to frame*.c.
///
/// The values of the memory that plays are those of the host.  Only the trim
/// may differ: while equal loudness is on, the memory that plays first, the
/// anchor, keeps its trim, and the other one gets as much more as it is softer.

#ifndef PLUGINS_WINDOW_FRAME_MEMORIES_H
#define PLUGINS_WINDOW_FRAME_MEMORIES_H

#include "frame_state.h"

// frame_memories.c

/// Whether the memories hold a control: all of the stage's and the trim, but
/// none that belongs to the track
bool
memory_holds(const frame* f, uint32_t param);

/// The value that a memory keeps of a control just now: that of the trim is
/// without what a comparison adds
float
memory_value(const frame* f, uint32_t param);

/// Makes B a copy of A, once, when it is first called up
void
memories_make(frame* f);

bool
memories_differ(const frame* f);

/// Stores the present values in the memory that plays
void
memory_store(frame* f);

/// Calls a memory up; as a step that can be undone, and without one
void
memory_call(frame* f, uint32_t which);

void
memory_turn(frame* f, uint32_t which);

/// Copies the memory that plays to the other
void
memory_copy(frame* f);

/// Does a gesture again, or takes it back
void
memory_replay(frame* f, const gesture* g, bool is_back);

/// A control of the memory that plays has moved: its loudness is not known
void
memory_moved(frame* f, uint32_t param);

/// Does what a click on A, B or blind does
void
memory_act(frame* f, const item* it, bool is_shift);

/// Calls the other memory up, or copies this one there
void
memory_swap(frame* f, bool is_copy);

// frame_compare.c

bool
compare_is_on(const frame* f);

/// The trim that plays a memory's stored one at the anchor's loudness
float
compare_trim(const frame* f, float stored_db);

/// Plays it
void
compare_play(frame* f, float stored_db);

/// The trim that plays is the stored one from now on
void
compare_leave(frame* f);

/// Puts the stored trim back
void
compare_end(frame* f);

void
compare_tick(frame* f, double passed_s);

/// Whether both memories have been heard long enough
bool
compare_is_settled(const frame* f);

/// Writes what is still to be heard ("measuring A"), "" for nothing
enum { COMPARE_TEXT = 24 };

void
compare_says(const frame* f, char text[COMPARE_TEXT]);

// frame_blind.c

/// Whether there is something to compare, and, if they are to be, both
/// memories are equally loud
bool
blind_can(const frame* f);

/// Draws which memory is 1 and which is 2, and plays 1
void
blind_begin(frame* f);

/// Plays 1 (0) or 2 (1)
void
blind_call(frame* f, uint32_t label);

/// Which of them plays
uint32_t
blind_now(const frame* f);

/// Ends it, and says which was which
void
blind_tell(frame* f);

/// Whether an item does nothing while the comparison is blind
bool
blind_shuts(const frame* f, const item* it);

// frame_kept.c

/// Takes up the past that is kept under the mark of the instance, once the host
/// has said it
void
kept_tick(frame* f);

/// Gives the instance a mark, now that there is something to keep
void
kept_mark(frame* f);

#endif // PLUGINS_WINDOW_FRAME_MEMORIES_H
