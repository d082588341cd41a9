// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Writes JSON (RFC 8259): commas, line breaks and escapes

#ifndef PRESETS_DEMO_SESSION_REPORT_JSON_H
#define PRESETS_DEMO_SESSION_REPORT_JSON_H

#include <stdbool.h>
#include <stdint.h>
#include <stdio.h>

typedef struct {
  FILE*    file;
  uint32_t depth;
  bool     is_first; ///< Nothing yet at this depth
} json;

// `key` is NULL in an array and at the top

/// Opens an object ('{') or an array ('['); close it with the matching bracket
void
json_open(json* j, const char* key, char bracket);

void
json_close(json* j, char bracket);

/// Writes a number, null if it is not finite
void
json_number(json* j, const char* key, double x);

/// Writes UTF-8; replaces what is not by U+FFFD.  NULL is null.
void
json_text(json* j, const char* key, const char* text);

/// Writes an array in one line
void
json_numbers(json* j, const char* key, const double* x, uint32_t n);

#endif // PRESETS_DEMO_SESSION_REPORT_JSON_H
