// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Results of a mixdown, as lines of text

#ifndef PRESETS_DEMO_SESSION_REPORT_SESSION_TABLE_H
#define PRESETS_DEMO_SESSION_REPORT_SESSION_TABLE_H

#include "presets-demo/session/mix/mixdown.h"

#include <stdio.h>

void
session_table_print(FILE* out, const mixdown* m);

#endif // PRESETS_DEMO_SESSION_REPORT_SESSION_TABLE_H
