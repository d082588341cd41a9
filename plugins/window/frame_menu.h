// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// The menus: of setups with ground and scale, of groups, and of the rows.
/// Private to frame*.c.

#ifndef PLUGINS_WINDOW_FRAME_MENU_H
#define PLUGINS_WINDOW_FRAME_MENU_H

#include "frame_state.h"

// frame_menu.c

/// Opens the menu of a control's row, or one of MENU_
void
menu_open(frame* f, int param);

void
menu_close(frame* f);

/// Returns which word of a menu's line counts now
int
menu_choice(const frame* f, const item* it);

/// Chooses a word of a menu's line
void
menu_choose(frame* f, const item* it, int choice);

/// Places and draws the menu of setups
void
menu_build(frame* f, const chart* c);

void
menu_draw(const frame* f, chart* c);

// frame_row_menu.c

/// Places the entries of the open menu of a row
void
row_menu_build(frame* f);

void
row_menu_draw(const frame* f, chart* c);

/// Returns what an entry does, and its key
const char*
row_menu_help(uint32_t entry, const char** key);

/// Does what an entry says, and closes the menu
void
row_menu_act(frame* f, uint32_t entry);

#endif // PLUGINS_WINDOW_FRAME_MENU_H
