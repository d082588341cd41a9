// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// The parts of the report's page

#ifndef PRESETS_DEMO_SESSION_REPORT_HTML_H
#define PRESETS_DEMO_SESSION_REPORT_HTML_H

#include <stdio.h>

/// Prints the template up to the report, with the title and the style
void
html_begin(FILE* f, const char* title);

/// Prints the template from there to the place of sound and script
void
html_before_sound(FILE* f);

/// Prints the rest of the template
void
html_end(FILE* f);

/// Prints any text, escaped for an element or a quoted attribute of HTML; what
/// HTML does not allow is replaced by U+FFFD
void
html_text(FILE* f, const char* text);

/// Prints a name from outside: escaped, and isolated, so that its direction of
/// writing has no effect on the text around it
void
html_name(FILE* f, const char* name);

/// Prints a cell of a table: a figure with so many decimals and its unit;
/// "silent" for -INFINITY, "–" for NAN
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

/// Begins a <div> whose content may be wider or higher than it: keys scroll it,
/// and a screen reader says its name
void
html_begin_scroll(FILE* f, const char* name);

#endif // PRESETS_DEMO_SESSION_REPORT_HTML_H
