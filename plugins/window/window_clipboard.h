// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// A window's copy and paste: opens the clipboard when it is first of use, and
/// says in words why there is no text.

#ifndef PLUGINS_WINDOW_WINDOW_CLIPBOARD_H
#define PLUGINS_WINDOW_WINDOW_CLIPBOARD_H

#include "frame.h"

#include "plugins/window/platform/clipboard.h"
#include "plugins/window/platform/platform.h"

/// All zero: not open yet
typedef struct {
  clipboard* open;
} window_clipboard;

bool
window_clipboard_copy(window_clipboard* c,
                      const platform*   screen,
                      const char*       text,
                      size_t            length);

bool
window_clipboard_ask(window_clipboard* c, const platform* screen);

/// Serves others, and hands a text that was asked for to the sheet
void
window_clipboard_idle(window_clipboard* c, frame* sheet);

void
window_clipboard_close(window_clipboard* c);

#endif // PLUGINS_WINDOW_WINDOW_CLIPBOARD_H
