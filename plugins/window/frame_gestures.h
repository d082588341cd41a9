// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Gestures of the hand, and undo.  Private to frame*.c.

#ifndef PLUGINS_WINDOW_FRAME_GESTURES_H
#define PLUGINS_WINDOW_FRAME_GESTURES_H

#include "frame_state.h"

/// Writes a value to the host; it must know that a hand holds the control
void
value_write(frame* f, uint32_t param, float value);

/// Writes a value as a touch of its own, outside of the hand's gestures
void
value_put(frame* f, uint32_t param, float value);

/// Writes a hidden control
void
value_keep(frame* f, uint32_t param, float value);

/// Tells the host that a control is held, or not any more
void
value_touch(frame* f, uint32_t param, bool is_held);

/// Begins a gesture, moves a control in it, ends it
void
gesture_begin(frame* f);

/// `value` is in the range
void
gesture_set(frame* f, uint32_t param, float value);

/// `wanted` is held in the range, and rounded to what can be shown
void
gesture_move(frame* f, uint32_t param, double wanted);

void
gesture_end(frame* f);

/// A whole gesture
void
gesture_once(frame* f, uint32_t param, double wanted);

/// One step of the wheel: gestures that end by themselves
void
gesture_wheel(frame* f, uint32_t param, double wanted);

/// Takes a step that can be undone
void
history_keep(frame* f, const gesture* g);

/// Returns the last move of a control that can be undone, or NULL
const move*
history_last(const frame* f, uint32_t param);

void
history_undo(frame* f);

void
history_redo(frame* f);

bool
history_can_undo(const frame* f);

bool
history_can_redo(const frame* f);

#endif // PLUGINS_WINDOW_FRAME_GESTURES_H
