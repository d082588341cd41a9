// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Prints text that is fit for a terminal (printable_copy.h), and measures its
/// columns

#ifndef PRESETS_DEMO_RENDER_PROGRAM_PRINTABLE_H
#define PRESETS_DEMO_RENDER_PROGRAM_PRINTABLE_H

#include "plugins/text/printable_copy.h"

#include <stddef.h>
#include <stdint.h>
#include <stdio.h>

/// Returns a copy as printable_copy() makes it, to be freed
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
