// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Controls by name, as text: "symbol=value symbol=value ...".  Controls that
/// are not named stay, so that a new control changes no table of settings.

#ifndef TESTS_SUPPORT_SETTINGS_H
#define TESTS_SUPPORT_SETTINGS_H

#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/// Takes one; false if there is no such control or value
typedef bool (*settings_take)(void* to, const char* symbol, float value);

/// Takes all of `text` (NULL: none).  Returns NULL, or the first part that was
/// not taken.
static inline const char*
settings_apply(const char* text, settings_take takes, void* to)
{
  while (text && *text) {
    char         symbol[64];
    const size_t length = strcspn(text, "= ");
    (void)snprintf(symbol, sizeof(symbol), "%.*s", (int)length, text);
    if (text[length] != '=') {
      return text;
    }
    char*       end   = NULL;
    const char* value = text + length + 1;
    const float x     = strtof(value, &end);
    if (end == value || (*end && *end != ' ') || !takes(to, symbol, x)) {
      return text;
    }
    text = end + strspn(end, " ");
  }
  return NULL;
}

#endif // TESTS_SUPPORT_SETTINGS_H
