// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// The lines of an INI file, one by one and with their numbers.
///
/// Parsing is left to inih; this adds what its interface does not tell: the
/// number of a line, a section without keys, and lines that are not text or too
/// long.  An indented line is an ordinary one, not the rest of the line above.

#ifndef PRESETS_DEMO_RENDER_SETUP_SETUP_LINES_H
#define PRESETS_DEMO_RENDER_SETUP_SETUP_LINES_H

#include "presets-demo/render/program/failure.h"

#include <stdint.h>

/// Who takes them; false with a failure stops the reading
typedef struct {
  const char* kind;     ///< What the file should be, in messages: "a setup"
  const char* headings; ///< "[stage]"
  const char* pair;     ///< "symbol = value"
  bool (*section)(void* user, uint32_t line, const char* name, failure* f);
  bool (*value)(void*       user,
                uint32_t    line,
                const char* key,
                const char* value,
                failure*    f);
  void* user;
} setup_lines;

/// Read a file to its end or its first fault.  A fault of the form is reported
/// as "file:line: ...", one of `take` as `take` reports it.
bool
setup_lines_read(const char*        path,
                 const setup_lines* take,
                 uint32_t*          n_lines,
                 failure*           f);

#endif // PRESETS_DEMO_RENDER_SETUP_SETUP_LINES_H
