// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// What windows tell each other while they are open: to all windows at once, of
/// this process and of others on the same display.  Anybody can send anything
/// there, so whoever reads one believes nothing that it does not check.

#ifndef PLUGINS_WINDOW_FOLLOW_MESSAGE_H
#define PLUGINS_WINDOW_FOLLOW_MESSAGE_H

#include <stdbool.h>
#include <stdint.h>

enum { MESSAGE_TEXT = 12 };

/// As it travels: 32 bits each
typedef struct {
  uint32_t word[5];
} window_message;

typedef enum {
  MESSAGE_ASK = 1, ///< Who is there?
  MESSAGE_HERE,    ///< A member of a group says so; `a`: its place
  MESSAGE_NAME,    ///< And its name: `text`
  MESSAGE_BYE,     ///< It goes
  MESSAGE_HOLD,    ///< A gesture begins; `a`: control
  MESSAGE_MOVE,    ///< Since its begin; `a`: control, `b`: parts of the scale
  MESSAGE_CHOOSE,  ///< `a`: control, `b`: which choice
  MESSAGE_DONE, ///< The gesture is over; `a`: the move's mark, `b`: its parent
  /// Of rows (track_row.h), whatever the plugin: `song` is the mark of the row,
  /// `group` its number less 1
  MESSAGE_ROW_ASK,  ///< Who is in a row?
  MESSAGE_ROW_HERE, ///< `a`: mark of the turn it answers, or 0; `b`: flags
  MESSAGE_ROW_BYE,  ///< It goes, or leaves the row
  MESSAGE_ROW_CALL, ///< Be ready to be compared
  MESSAGE_ROW_TURN, ///< `a`: mark of the turn, `b`: 1 untreated, 0 treated
  MESSAGE_KINDS,
} message_kind;

typedef struct {
  message_kind kind;
  uint32_t     song;   ///< Mark of the song's group, or of a row; 0: none
  uint32_t     sender; ///< Mark of the window, drawn when it opened
  uint32_t     stem;   ///< Number of the plugin, as in shell_plugin()
  uint32_t     group;  ///< 0: none, 1 to 4: P to S
  uint32_t     a;
  int32_t      b;
  char         text[MESSAGE_TEXT + 1]; ///< In place of `a` and `b`
} message;

/// Packs, and unpacks; false if it cannot be one of ours
window_message
message_pack(const message* m);

bool
message_unpack(const window_message* w, message* m);

#endif // PLUGINS_WINDOW_FOLLOW_MESSAGE_H
