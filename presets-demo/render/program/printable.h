// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Makes text fit for a terminal.  Names of files, tracks and stages come from
/// outside: a control character in them could move the cursor, retitle the
/// window or turn the rest of the line around.
///
/// Shows as \xNN, byte by byte: control characters (ISO/IEC 6429), what
/// overrides the direction of writing (Unicode Standard Annex 9, section 2),
/// and what is no UTF-8.  All else stays, backslashes too.

#ifndef PRESETS_DEMO_RENDER_PROGRAM_PRINTABLE_H
#define PRESETS_DEMO_RENDER_PROGRAM_PRINTABLE_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>

/// Returns whether a character is one of those controls; `length` is that of
/// utf8_length()
bool
printable_is_control(const char* character, size_t length);

/// Copies text, and cuts it off after a whole character where `room` ends
void
printable_copy(char* to, size_t room, const char* text);

/// Returns such a copy, to be freed
char*
printable_new(const char* text);

/// Prints like fprintf(), made printable except for a line break at its end
__attribute__((format(printf, 2, 3))) void
printable_print(FILE* file, const char* format, ...);

/// Returns the columns that a printable text takes on a terminal
uint32_t
printable_columns(const char* text);

/// Returns how many bytes of it fit into a number of columns
size_t
printable_fit(const char* text, uint32_t columns);

/// Returns the width of a table's column that is `width` wide without `text`: a
/// very long text sticks out of it
uint32_t
printable_widen(uint32_t width, const char* text);

/// Prints the cell of a table: a text, and spaces up to `width` columns
void
printable_cell(FILE* file, const char* text, uint32_t width);

#endif // PRESETS_DEMO_RENDER_PROGRAM_PRINTABLE_H
