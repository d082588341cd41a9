// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// The setup that a sheet was last set to, and the menu of setups.  Private to
/// frame*.c.

#ifndef PLUGINS_WINDOW_FRAME_LOADED_H
#define PLUGINS_WINDOW_FRAME_LOADED_H

#include "frame_state.h"

// frame_loaded.c

/// Takes a setup's values, as one gesture, and watches its files
void
loaded_take(frame* f, const setup_entry* e, uint32_t part);

/// Writes the controls into the user's own setup of that name
void
loaded_save(frame* f);

/// The path that loaded_save() writes; false if there is no folder for it
bool
loaded_own_path(const frame* f, char* path, size_t room);

/// Looks for changes, of controls and of files
void
loaded_tick(frame* f);

/// Takes over what a file changed, or keeps the controls as they are
void
loaded_accept(frame* f);

void
loaded_keep(frame* f);

void
loaded_clear(frame* f);

/// Also for later windows of the instance
void
loaded_forget(frame* f);

/// What the last window of the instance had loaded
void
loaded_recall(frame* f);

// frame_save_name.c

/// A key while the menu of setups is open: types a name to save as
bool
save_name_key(frame* f, const window_event* e);

/// Whether a typed name is another setup's, and that is to be said first
bool
save_name_asks(frame* f);

// frame_setup_menu.c

/// Reads the setups that the menu is about to show, and forgets them
void
setup_menu_read(frame* f);

void
setup_menu_forget(frame* f);

/// Places the menu's lines from a place downwards; returns where they end
double
setup_menu_build(frame* f, chart_box box);

void
setup_menu_draw(const frame* f, chart* c);

/// Does what a click on a line does: `it` is one of its items
void
setup_menu_act(frame* f, const item* it);

/// What the line of help says of it
const char*
setup_menu_help(const frame* f, const item* it, const char** name);

// frame_setup.c

/// Returns the place of the stage among the parts of a table
uint32_t
setup_part_of(const frame* f, const setup_table* t);

#endif // PLUGINS_WINDOW_FRAME_LOADED_H
