// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Text that may go to a terminal.  Names of files, tracks and stages come from
/// outside: a control character in them could move the cursor, retitle the
/// window or turn the rest of the line around.
///
/// Shown as \xNN, byte by byte: control characters (ISO/IEC 6429), what
/// overrides the direction of writing (Unicode Standard Annex 9, section 2),
/// and what is no UTF-8.  All else stays, backslashes too.

#ifndef PRESETS_DEMO_RENDER_PROGRAM_PRINTABLE_H
#define PRESETS_DEMO_RENDER_PROGRAM_PRINTABLE_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>

/// Whether a character is one of those controls; `length` is that of
/// utf8_length()
bool
printable_is_control(const char* character, size_t length);

/// Copy text; cut off behind a whole character where `room` ends
void
printable_copy(char* to, size_t room, const char* text);

/// The same in new memory
char*
printable_new(const char* text);

/// printf() made printable, a line break at its end aside
__attribute__((format(printf, 2, 3))) void
printable_print(FILE* file, const char* format, ...);

/// Columns that a printable text takes on a terminal
uint32_t
printable_columns(const char* text);

/// Its bytes that fit into a number of columns
size_t
printable_fit(const char* text, uint32_t columns);

/// Width of a column of a table that is `width` wide without `text`: a very
/// long text sticks out of it
uint32_t
printable_widen(uint32_t width, const char* text);

/// Print the cell of a table: a text, and spaces up to `width` columns
void
printable_cell(FILE* file, const char* text, uint32_t width);

#endif // PRESETS_DEMO_RENDER_PROGRAM_PRINTABLE_H
