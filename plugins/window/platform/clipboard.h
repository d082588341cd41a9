// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Text on the clipboard that all programs share, one for each window.
///
/// Nothing here waits for another program: a text that was asked for comes when
/// it comes, from clipboard_serve().  What was copied is there for others as
/// long as its window; for windows of this process until somebody else copies.
///
/// For the user interface's thread.

#ifndef PLUGINS_WINDOW_PLATFORM_CLIPBOARD_H
#define PLUGINS_WINDOW_PLATFORM_CLIPBOARD_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

/// Bytes of a text: what is copied is a section; what comes may be a whole file
#define CLIPBOARD_MOST_OUT 65536
#define CLIPBOARD_MOST_IN  1048576

/// The owner of a text must answer, or send its next piece, within this time
#define CLIPBOARD_WAIT_S 2.0

typedef enum {
  CLIPBOARD_NOTHING, ///< No question, or no answer yet
  CLIPBOARD_TEXT,
  CLIPBOARD_NONE,     ///< There is no text
  CLIPBOARD_TOO_LONG, ///< More than CLIPBOARD_MOST_IN
  CLIPBOARD_LATE,     ///< Its owner does not answer
} clipboard_answer;

typedef struct clipboard clipboard;

/// NULL without a display
clipboard*
clipboard_open(void);

void
clipboard_close(clipboard* c);

/// Puts a text there.  `time` is the display's, of the event that asked for it.
bool
clipboard_offer(clipboard* c, const char* text, size_t length, uint32_t time);

/// Asks for the text that is there; an older question is forgotten
void
clipboard_ask(clipboard* c, uint32_t time, double now_s);

/// Hands out what others ask for, and returns what became of our own question.
/// `text` is valid until the next call.
clipboard_answer
clipboard_serve(clipboard* c, double now_s, const char** text, size_t* length);

#endif // PLUGINS_WINDOW_PLATFORM_CLIPBOARD_H
