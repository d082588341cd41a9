// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// What the files of rows share: private to track_row*.c

#ifndef PLUGINS_WINDOW_FOLLOW_TRACK_ROW_STATE_H
#define PLUGINS_WINDOW_FOLLOW_TRACK_ROW_STATE_H

#include "track_row.h"

/// What a window says of itself
enum { ROW_IS_READY = 1, ROW_IS_UNTREATED = 2, ROW_ALL_FLAGS = 3 };

void
track_row_say(const track_row* r, message_kind kind, uint32_t a, int32_t b);

/// Says how it is; `turn` is the mark of the turn that it answers, or 0
void
track_row_say_here(track_row* r, uint32_t turn);

/// Turns this window
void
track_row_turn(track_row* r, bool is_untreated);

/// Notes a row that this window is not in
void
track_row_note(track_row* r, const message* m);

/// Takes what a window of the same row says of itself
void
track_row_heed(track_row* r, const message* m);

/// Forgets a window
void
track_row_forget(track_row* r, uint32_t sender);

/// Another window leads from now on
void
track_row_yield(track_row* r);

/// Goes on with what it leads, every now and then
void
track_row_go_on(track_row* r, double before_s);

#endif // PLUGINS_WINDOW_FOLLOW_TRACK_ROW_STATE_H
