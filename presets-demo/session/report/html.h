// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// The parts of the report's page

#ifndef PRESETS_DEMO_SESSION_REPORT_HTML_H
#define PRESETS_DEMO_SESSION_REPORT_HTML_H

#include <stdio.h>

/// Prints the template up to the report, with the title and the style
void
html_begin(FILE* f, const char* title);

/// Prints the rest of the template
void
html_end(FILE* f);

/// Any text, in an element or a quoted attribute: with what means something to
/// HTML escaped, and what HTML does not allow replaced
void
html_text(FILE* f, const char* text);

/// The same for what a user calls something: letters from right to left turn
/// nothing around that follows
void
html_name(FILE* f, const char* name);

/// A cell of a table: a figure of so many decimals and its unit; "silent" of
/// -INFINITY, "–" of NAN
void
html_figure(FILE* f, double x, int decimals, const char* unit);

/// Prints the same with a sign
void
html_change(FILE* f, double x, int decimals, const char* unit);

/// Prints a figure under its name
void
html_tile(FILE* f, const char* name, double x, int decimals, const char* unit);

/// Prints a row of table headings, one for each text up to a NULL
void
html_headings(FILE* f, const char* const* texts);

#endif // PRESETS_DEMO_SESSION_REPORT_HTML_H
