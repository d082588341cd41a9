// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Times as they stand in a session file

#ifndef PRESETS_DEMO_SESSION_FILE_SESSION_TIME_H
#define PRESETS_DEMO_SESSION_FILE_SESSION_TIME_H

#include <stdbool.h>

/// Reads minutes and seconds, "0:21" or "1:02.5", or seconds alone, "21.5".
/// Returns false, and leaves `s` alone, for any other text.
bool
session_time_read(const char* text, float* s);

#endif // PRESETS_DEMO_SESSION_FILE_SESSION_TIME_H
