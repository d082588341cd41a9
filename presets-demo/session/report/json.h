// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Writing JSON (RFC 8259): the commas, the line breaks and the escapes

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

/// Open an object ('{') or an array ('['), and close it with the other one
void
json_open(json* j, const char* key, char bracket);

void
json_close(json* j, char bracket);

/// null if it is not finite
void
json_number(json* j, const char* key, double x);

/// UTF-8; what is not is replaced by U+FFFD.  NULL is null.
void
json_text(json* j, const char* key, const char* text);

/// An array in one line
void
json_numbers(json* j, const char* key, const double* x, uint32_t n);

#endif // PRESETS_DEMO_SESSION_REPORT_JSON_H
