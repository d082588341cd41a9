// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Text that a window offers to others under X11: the clipboard, and what the
/// middle button pastes (ICCCM 2.0, section 2).  Private to platform_x11.c.

#ifndef PLUGINS_WINDOW_PLATFORM_SELECTION_X11_H
#define PLUGINS_WINDOW_PLATFORM_SELECTION_X11_H

#include <X11/Xlib.h>

#include <stdbool.h>

typedef struct {
  char* text; ///< NULL while nothing is offered
} selection;

/// Offers a text; `time` is that of the event that asked for it
void
selection_offer(selection*  s,
                Display*    display,
                Window      window,
                Time        time,
                const char* text);

/// Answers another program; returns whether the event was about selections
bool
selection_event(selection* s, const XEvent* e);

void
selection_free(selection* s);

#endif // PLUGINS_WINDOW_PLATFORM_SELECTION_X11_H
