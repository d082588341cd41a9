// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// The lines of an INI file, one by one and with their numbers.
///
/// Parsing is left to inih.  As distributions build it, it tells neither the
/// number of a line (INI_HANDLER_LINENO) nor of a section without keys
/// (INI_CALL_HANDLER_ON_NEW_SECTION), cuts long lines off without a word
/// (INI_MAX_LINE), and takes an indented line for the rest of the one above
/// (INI_ALLOW_MULTILINE): these are settings of its build, not of its callers.
/// So this hands it its lines one by one, and knows which one it is at.

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

/// Put "file:line: " in front of a failure; always false
bool
setup_lines_fail_at(const char* path, uint32_t line, failure* f);

/// Read a file to its end or its first fault.  A fault of the form is reported
/// as "file:line: ...", one of `take` as `take` reports it.
bool
setup_lines_read(const char*        path,
                 const setup_lines* take,
                 uint32_t*          n_lines,
                 failure*           f);

#endif // PRESETS_DEMO_RENDER_SETUP_SETUP_LINES_H
