// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// An error message: one line that says what was found, where, and what was
/// expected.

#ifndef PRESETS_DEMO_RENDER_PROGRAM_FAILURE_H
#define PRESETS_DEMO_RENDER_PROGRAM_FAILURE_H

#include <stdbool.h>

/// Long enough for a path of PATH_MAX and a sentence
typedef struct {
  char text[5120];
} failure;

/// Writes the line, made printable (printable.h), and returns false: `return
/// fail_with(f, ...)`
__attribute__((format(printf, 2, 3))) bool
fail_with(failure* f, const char* format, ...);

/// Returns true if all that was printed has reached standard output, else false
/// with a failure
bool
output_is_printed(failure* f);

#endif // PRESETS_DEMO_RENDER_PROGRAM_FAILURE_H
