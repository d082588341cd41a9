// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// The sheet's share in a row (follow/track_row.h): its word in the line of
/// levels, its lines in the menu of groups.  Private to frame*.c.

#ifndef PLUGINS_WINDOW_FRAME_TRACK_ROW_H
#define PLUGINS_WINDOW_FRAME_TRACK_ROW_H

#include "frame_state.h"

// frame_track_row.c

void
track_row_begin(frame* f);

/// The host has moved a hidden control
void
track_row_took(frame* f, uint32_t param);

/// A control has moved: the loudness is to be heard anew
void
track_row_moved(frame* f, uint32_t param);

/// Lets time pass, of which the stage played
void
track_row_listen(frame* f, double passed_s);

/// Compares the whole row, or goes back
void
track_row_compare(frame* f);

/// The word comes, goes or is another one
void
track_row_show(frame* f);

/// Places the word
void
track_row_build(frame* f, const chart* c);

void
track_row_draw(const frame* f, chart* c, const item* it, int index);

// frame_track_row_menu.c

/// Places its lines below those of the groups
void
track_row_menu_build(frame* f, const chart* c);

void
track_row_menu_draw(const frame* f, chart* c);

/// Chooses a number, 0 for none; the menu stays
void
track_row_menu_choose(frame* f, uint32_t number);

/// Enters an offered row, and closes the menu
void
track_row_menu_enter(frame* f, uint32_t offer);

#endif // PLUGINS_WINDOW_FRAME_TRACK_ROW_H
