// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// The report as one HTML page

#ifndef PRESETS_DEMO_SESSION_REPORT_REPORT_HTML_H
#define PRESETS_DEMO_SESSION_REPORT_REPORT_HTML_H

#include "listen.h"

#include <stdio.h>

void
report_html_print(FILE*          out,
                  const mixdown* m,
                  const session* s,
                  const listen*  l,
                  double         time_s);

/// Prints the page of a single take: its stages, without a mix
void
report_html_print_take(FILE*          out,
                       const mixdown* m,
                       const session* s,
                       const listen*  l,
                       double         time_s);

#endif // PRESETS_DEMO_SESSION_REPORT_REPORT_HTML_H
