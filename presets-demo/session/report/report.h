// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// The report of a mixdown: one HTML page that needs nothing else, and the same
/// figures as JSON

#ifndef PRESETS_DEMO_SESSION_REPORT_REPORT_H
#define PRESETS_DEMO_SESSION_REPORT_REPORT_H

#include "presets-demo/session/mix/mixdown.h"

#include <stdio.h>

/// Writes report.html, and with `json` report.json.  `time_s` is the time that
/// the mixdown took; the sound is made in `n_threads`.
bool
report_write(const mixdown* m,
             const session* s,
             whole_folder*  folder,
             double         time_s,
             uint32_t       n_threads,
             bool           json,
             failure*       f);

/// Prints the page of a session that is one take, played without a folder
void
report_print_take(FILE*          out,
                  const mixdown* m,
                  const session* s,
                  double         time_s,
                  uint32_t       n_threads);

#endif // PRESETS_DEMO_SESSION_REPORT_REPORT_H
