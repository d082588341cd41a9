// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// An error message: one line that says what was found, where, and what was
/// expected.

#ifndef PLUGINS_TEXT_FAILURE_H
#define PLUGINS_TEXT_FAILURE_H

#include <stdbool.h>

/// Long enough for a path of PATH_MAX and a sentence
typedef struct {
  char text[5120];
} failure;

/// Writes the line, made printable (printable_copy.h), and returns false:
/// `return fail_with(f, ...)`
__attribute__((format(printf, 2, 3))) bool
fail_with(failure* f, const char* format, ...);

/// Says "out of memory", and returns false
bool
fail_of_memory(failure* f);

#endif // PLUGINS_TEXT_FAILURE_H
