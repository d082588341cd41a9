// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// What the windows of a group did to its controls, move by move, so that a
/// window that was closed can find out on opening by how much it is behind.
///
/// A text file for each song's group and stem, in
/// $XDG_STATE_HOME/dustcap/groups (or ~/.local/state):
///
///   move 1f3a2c after 00b1c2 drive_db +33333333 stages =2
///
/// Moves form a tree: each names the one that its window had followed last.  A
/// song that was copied, or opened as it was last week, goes on from its own
/// place in the tree, and no other song's moves are taken for its own.  A
/// plugin keeps but the mark of its place, in a control that the host saves.
///
/// Numbers are JOURNAL_PLACE parts of a control's scale, for they add up
/// exactly and look the same in any locale; `=` sets a choice.  `part` in place
/// of `move` is one window's own: it stands where its parent does, but for what
/// it says of single controls, positive where the window went further.
///
/// A line that cannot be read is passed over.  What leads past it is unknown
/// then, and whoever stands above is told so.
///
/// Not for real time: files.

#ifndef PLUGINS_WINDOW_FOLLOW_JOURNAL_H
#define PLUGINS_WINDOW_FOLLOW_JOURNAL_H

#include "plugins/shell.h"

#define JOURNAL_PLACE 1000000000 // Parts of a whole scale

enum {
  JOURNAL_PARAMS = shell_n_params + PARAMS_MAX,
  JOURNAL_START  = 0, ///< The place of a group that has not moved yet
};

/// Which file
typedef struct {
  const plugin* plugin;
  char          letter; ///< Of the group
  uint32_t      song;   ///< Its mark
} journal_key;

/// What a move does to one control
typedef struct {
  uint32_t param; ///< As in shell_param()
  bool     is_choice;
  int32_t  by; ///< Parts of the scale; of a choice, which
} journal_part;

typedef struct {
  uint32_t id, parent;  ///< Marks; a parent of JOURNAL_START is the root
  bool     is_own;      ///< Of one window
  uint32_t first, n;    ///< Parts
  int      above;       ///< Index of the parent; -1 at the root
  uint32_t depth;       ///< 1 at the root
  bool     is_followed; ///< By another move for all
} journal_move;

typedef struct {
  journal_move* moves; ///< As they were written
  uint32_t      n, room;
  journal_part* parts;
  uint32_t      n_parts, part_room;
} journal;

/// What lies between two places, for each control
typedef struct {
  int64_t by[JOURNAL_PARAMS];     ///< Parts of the scale
  int32_t choice[JOURNAL_PARAMS]; ///< The last one set, or -1
} journal_way;

/// Reads a journal; an empty one where there is no file.  False without memory.
bool
journal_read(journal* j, const journal_key* key);

void
journal_free(journal* j);

/// Writes one move at the end of the file, whole or not at all.  False if that
/// is not possible: the move has happened all the same.
bool
journal_write(const journal_key*  key,
              uint32_t            id,
              uint32_t            parent,
              bool                is_own,
              const journal_part* parts,
              uint32_t            n);

/// Returns the move with a mark, or NULL (also for JOURNAL_START)
const journal_move*
journal_find(const journal* j, uint32_t id);

/// Writes the marks of the last moves of all branches, the newest first, at
/// most `most`; returns how many
uint32_t
journal_heads(const journal* j, uint32_t heads[], uint32_t most);

/// Adds up what leads from one shared place to another, back to where their
/// ways part and on from there.  False if they have nothing in common.
bool
journal_way_to(const journal* j, uint32_t from, uint32_t to, journal_way* way);

#endif // PLUGINS_WINDOW_FOLLOW_JOURNAL_H
