// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// The figures of a mixdown as JSON.  Names carry their units; null means none,
/// or for a level silence.

#ifndef PRESETS_DEMO_SESSION_REPORT_REPORT_JSON_H
#define PRESETS_DEMO_SESSION_REPORT_REPORT_JSON_H

#include "presets-demo/session/mix/mixdown.h"

#include <stdio.h>

void
report_json_print(FILE* out, const mixdown* m, const session* s, double time_s);

#endif // PRESETS_DEMO_SESSION_REPORT_REPORT_JSON_H
