// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// The parts of which the report's page is made

#ifndef PRESETS_DEMO_SESSION_REPORT_HTML_H
#define PRESETS_DEMO_SESSION_REPORT_HTML_H

#include <stdio.h>

/// The template up to the report, with the title and the style
void
html_begin(FILE* f, const char* title);

/// The rest of the template
void
html_end(FILE* f);

/// With what means something to HTML escaped
void
html_text(FILE* f, const char* text);

/// A cell of a table: a figure of so many decimals and its unit; "silent" of
/// -INFINITY, "–" of NAN
void
html_figure(FILE* f, double x, int decimals, const char* unit);

/// The same with a sign
void
html_change(FILE* f, double x, int decimals, const char* unit);

/// A figure under its name
void
html_tile(FILE* f, const char* name, double x, int decimals, const char* unit);

/// A row of table headings, one for each text up to a NULL
void
html_headings(FILE* f, const char* const* texts);

#endif // PRESETS_DEMO_SESSION_REPORT_HTML_H
