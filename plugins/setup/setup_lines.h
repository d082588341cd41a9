// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Reads an INI file line by line, with line numbers.
///
/// inih does the parsing.  As distributions build it, it reports neither line
/// numbers (INI_HANDLER_LINENO) nor sections without keys
/// (INI_CALL_HANDLER_ON_NEW_SECTION), cuts long lines off silently
/// (INI_MAX_LINE), and takes an indented line for the rest of the one above
/// (INI_ALLOW_MULTILINE).  These are settings of its build, not of its callers,
/// so this module hands it one line at a time and counts them.
///
/// A value in quotes may be of any length and hold what would start a comment.
/// A quote in it is written twice.
///
/// Numbers are read and written with a point, whatever the locale, in the
/// callbacks too.

#ifndef PLUGINS_SETUP_SETUP_LINES_H
#define PLUGINS_SETUP_SETUP_LINES_H

#include "plugins/text/failure.h"

#include <stddef.h>
#include <stdint.h>

/// Callbacks for the contents; false with a failure stops reading, unless
/// `fault` says otherwise
typedef struct {
  const char* kind;     ///< Kind of file, for messages: "a setup"
  const char* headings; ///< "[stage]"
  const char* pair;     ///< "symbol = value"
  bool (*section)(void* user, uint32_t line, const char* name, failure* f);
  bool (*value)(void*       user,
                uint32_t    line,
                const char* key,
                const char* value,
                failure*    f);
  /// Is told of each fault of a line; true goes on with the next line.  NULL:
  /// the first fault is the last.
  bool (*fault)(void* user, const failure* f);
  void* user;
} setup_lines;

/// Puts "file:line: " before a failure; always returns false
bool
setup_lines_fail_at(const char* path, uint32_t line, failure* f);

/// Returns the text in the quotes that `text` starts with, to be freed, and
/// what follows them.  NULL, with `rest` NULL too, if they are not closed; NULL
/// alone without memory.
char*
setup_lines_unquote(const char* text, const char** rest);

/// Reads a file to its end or its first fault.  A fault of syntax is reported
/// as "file:line: ...", one found by `take` as `take` reports it.  Returns
/// whether it was read to its end.
bool
setup_lines_read(const char*        path,
                 const setup_lines* take,
                 uint32_t*          n_lines,
                 failure*           f);

/// Does the same with a text; `name` stands for the file's
bool
setup_lines_read_text(const char*        name,
                      const char*        text,
                      size_t             length,
                      const setup_lines* take,
                      uint32_t*          n_lines,
                      failure*           f);

#endif // PLUGINS_SETUP_SETUP_LINES_H
