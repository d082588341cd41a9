// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Makes text fit for a terminal or a line of help.  Names of files, tracks and
/// stages come from outside: a control character in them could move the cursor,
/// retitle the window or turn the rest of the line around.
///
/// Shows as \xNN, byte by byte: control characters (ISO/IEC 6429), what
/// overrides the direction of writing (Unicode Standard Annex 9, section 2),
/// and what is no UTF-8.  All else stays, backslashes too.

#ifndef PLUGINS_TEXT_PRINTABLE_COPY_H
#define PLUGINS_TEXT_PRINTABLE_COPY_H

#include <stdbool.h>
#include <stddef.h>

/// Bytes of one as \xNN
#define PRINTABLE_SHOWN_LENGTH 4U

/// Returns whether a character is one of those controls; `length` is that of
/// utf8_length()
bool
printable_is_control(const char* character, size_t length);

/// Copies text, and cuts it off after a whole character where `room` ends
void
printable_copy(char* to, size_t room, const char* text);

#endif // PLUGINS_TEXT_PRINTABLE_COPY_H
