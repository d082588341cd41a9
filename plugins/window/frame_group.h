// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// The sheet's share in a group (follow/follow.h): its menu, its marks on rows,
/// what it says when it is behind.  Private to frame*.c.
///
/// What the hand does to single controls leads the group.  What sets a whole
/// sheet (setups, paste, A and B) or fits one track (match) leaves the others
/// alone.

#ifndef PLUGINS_WINDOW_FRAME_GROUP_H
#define PLUGINS_WINDOW_FRAME_GROUP_H

#include "frame_state.h"

// frame_group.c

void
group_begin(frame* f);

void
group_end(frame* f);

void
group_tick(frame* f);

/// Tells the group where a gesture has led its controls, and that it is over
void
group_replay(frame* f, const gesture* g);

/// The letter of a control that takes part, or '\0'
char
group_letter(const frame* f, uint32_t param);

/// Whether something is to be decided: behind, or lost
bool
group_asks(const frame* f);

/// Writes what: "Drive is 2.0 dB behind group P, ..."
void
group_question(const frame* f, char text[HELP_QUESTION]);

/// Writes by how much a control is behind ("2.0 behind"); false if it is not
bool
group_behind(const frame* f, uint32_t param, char text[CONTROL_TEXT]);

/// Answers: catch up, keep, the other branch
void
group_answer(frame* f, uint32_t which);

/// Writes the words of the answers; returns how many there are
uint32_t
group_answers(const frame* f, const char* words[3]);

// frame_group_menu.c

/// Asks who is there: the menu is about to open
void
group_menu_read(frame* f);

/// Places its lines
void
group_menu_build(frame* f, const chart* c);

void
group_menu_draw(const frame* f, chart* c);

void
group_menu_act(frame* f, uint32_t at);

const char*
group_menu_help(const frame* f, uint32_t at);

/// Writes the word of the header
void
group_menu_name(frame* f);

#endif // PLUGINS_WINDOW_FRAME_GROUP_H
