// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// The part of the report's page that plays

#ifndef PRESETS_DEMO_SESSION_REPORT_LISTEN_HTML_H
#define PRESETS_DEMO_SESSION_REPORT_LISTEN_HTML_H

#include "listen.h"

#include <stdio.h>

/// Returns whether there is something to hear
bool
listen_html_has_sound(const listen* l);

/// Prints the controls, or why there is no sound
void
listen_html_print(FILE* f, const listen* l);

/// Prints the sound and the script, for the end of the page
void
listen_html_print_sound(FILE* f, const listen* l);

#endif // PRESETS_DEMO_SESSION_REPORT_LISTEN_HTML_H
