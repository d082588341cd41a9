// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "window_clipboard.h"

static bool
is_open(window_clipboard* c)
{
  if (!c->open) {
    c->open = clipboard_open();
  }
  return c->open != NULL;
}

bool
window_clipboard_copy(window_clipboard* c,
                      const platform*   screen,
                      const char*       text,
                      size_t            length)
{
  return is_open(c) &&
         clipboard_offer(c->open, text, length, platform_event_time(screen));
}

bool
window_clipboard_ask(window_clipboard* c, const platform* screen)
{
  if (is_open(c)) {
    clipboard_ask(c->open, platform_event_time(screen), platform_now_s());
  }
  return c->open != NULL;
}

void
window_clipboard_idle(window_clipboard* c, frame* sheet)
{
  static const char* const why[] = {
    [CLIPBOARD_NOTHING]  = "",
    [CLIPBOARD_TEXT]     = "",
    [CLIPBOARD_NONE]     = "No text on the clipboard.",
    [CLIPBOARD_TOO_LONG] = "The text on the clipboard is longer than 1 MiB.",
    [CLIPBOARD_LATE]     = "The program that copied does not answer.",
  };
  const char* text   = NULL;
  size_t      length = 0;
  if (c->open) {
    const clipboard_answer answer =
      clipboard_serve(c->open, platform_now_s(), &text, &length);
    if (answer != CLIPBOARD_NOTHING) {
      frame_paste(sheet, text, length, why[answer]);
    }
  }
}

void
window_clipboard_close(window_clipboard* c)
{
  if (c->open) {
    clipboard_close(c->open);
    c->open = NULL;
  }
}
