// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Quotes in the lines of a setup, for setup_lines.c

#ifndef PLUGINS_SETUP_SETUP_QUOTES_H
#define PLUGINS_SETUP_SETUP_QUOTES_H

#include <stdbool.h>

/// Returns the ']' of a heading, outside of quotes; NULL if there is none:
/// because a quote is open, or else
const char*
setup_quotes_heading_end(const char* text, bool* is_open);

/// Returns the quote that a line's value starts with, or NULL.  To inih, white
/// space and ';' begin a comment.
const char*
setup_quotes_find(const char* text);

#endif // PLUGINS_SETUP_SETUP_QUOTES_H
