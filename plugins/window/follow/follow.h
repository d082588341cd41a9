// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// One window's membership in a group: windows of one plugin, on several
/// tracks, whose controls move together by equal steps of their scales, so that
/// agreed differences stay.
///
/// Whose hand moves leads: its window says so to all, and writes the move into
/// the song's journal.  The others move by as much; one at the end of its range
/// holds and comes back.  A window that was closed compares its place with the
/// journal's on opening, and is behind until it catches up or keeps what it
/// has: it neither leads nor follows until then.
///
/// What the host saves are four hidden controls: letter, mark of the song's
/// group, place in the journal, and the controls that are left alone.
///
/// For the user interface's thread.

#ifndef PLUGINS_WINDOW_FOLLOW_FOLLOW_H
#define PLUGINS_WINDOW_FOLLOW_FOLLOW_H

#include "journal.h"
#include "message.h"

enum {
  FOLLOW_GROUPS  = 4, ///< P, Q, R, S
  FOLLOW_MEMBERS = 16,
  FOLLOW_HEADS   = 8,
};

/// What it asks of its window
typedef struct {
  void* handle;
  float (*value)(void* handle, uint32_t param);
  /// Moves a control for the group, without a step of undo
  void (*write)(void* handle, uint32_t param, float value);
  void (*touch)(void* handle, uint32_t param, bool is_held);
  void (*post)(void* handle, const window_message* m);
} follow_host;

/// Another window of the same plugin, which is open
typedef struct {
  uint32_t sender, song, group, place;
  char     name[MESSAGE_TEXT + 1]; ///< Of its setup, or ""
} follow_member;

/// A follower's control during a leader's gesture
typedef struct {
  bool    is_held;
  double  base;  ///< Place on the scale at its begin
  int64_t asked; ///< By the leader, in parts of the scale
} follow_hold;

typedef struct {
  const plugin* plugin;
  uint32_t      stem;
  follow_host   host;
  uint32_t      sender;
  char          name[MESSAGE_TEXT + 1];

  // As the host saves it
  uint32_t group, song, place, mask;

  // In the journal
  uint32_t    shared; ///< The place, without what is its own
  journal_way own;    ///< What it owes to there; choices that it has refused
  uint32_t    heads[FOLLOW_HEADS]; ///< Where others have gone
  uint32_t    n_heads, head;       ///< Number of the one to catch up with
  journal_way ahead;               ///< From `shared` to there
  bool        is_behind;
  bool        is_lost;  ///< Nobody knows by how much: the past is missing
  bool        is_known; ///< The journal has been read
  double      changed_s;

  // Gestures
  bool        is_leading;
  uint32_t    led[JOURNAL_PARAMS], n_led;
  float       led_from[JOURNAL_PARAMS];
  uint32_t    leader; ///< Whose gesture is followed; 0: none
  follow_hold hold[JOURNAL_PARAMS];
  double      said_s, heard_s, now_s;

  follow_member members[FOLLOW_MEMBERS];
  uint32_t      n_members;
} follow;

void
follow_init(follow* f, const plugin* p, const follow_host* host);

/// Says goodbye, and lets go of what a leader holds
void
follow_end(follow* f);

/// A hidden control as the host has it
void
follow_take(follow* f, uint32_t param, float value);

/// Reads the journal once the host has said all
void
follow_tick(follow* f, double now_s);

/// Any message that came; its own are passed over
void
follow_hear(follow* f, const window_message* w);

/// The name that other windows show
void
follow_set_name(follow* f, const char* name);

// ---------------------------------------------------------------------------
// Membership

/// Asks who is there; answers come as messages
void
follow_ask(follow* f);

/// Joins a group (1 to 4) of `song`, at a member's place; of 0: a new one
void
follow_join(follow* f, uint32_t group, uint32_t song, uint32_t place);

void
follow_leave(follow* f);

/// Whether a control can take part: the stage's or the trim, and a sound's, not
/// a track's
bool
follow_may_take_part(const plugin* p, uint32_t param);

/// Whether it takes part: it can, and is not left alone
bool
follow_takes_part(const follow* f, uint32_t param);

/// Leaves a control alone, or takes it in again as it is
void
follow_leave_alone(follow* f, uint32_t param, bool is_alone);

// ---------------------------------------------------------------------------
// Leading

/// A gesture of this window's hand: begins with a control, moves, ends
void
follow_lead(follow* f, uint32_t param);

void
follow_lead_to(follow* f, uint32_t param);

void
follow_lead_end(follow* f);

/// A hand moves a control without the others: the difference is another now
void
follow_alone(follow* f, uint32_t param);

// ---------------------------------------------------------------------------
// Behind

/// Writes where a control would go by catching up; false if it is not behind
bool
follow_target(const follow* f, uint32_t param, float* value);

/// Catches up with one control; with all; keeps all as they are
void
follow_catch_up_one(follow* f, uint32_t param);

void
follow_catch_up(follow* f);

void
follow_keep(follow* f);

/// Another branch, where a copy of the song has moved as well
void
follow_next_branch(follow* f);

#endif // PLUGINS_WINDOW_FOLLOW_FOLLOW_H
