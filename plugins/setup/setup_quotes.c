// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "setup_quotes.h"

#include "setup_lines.h"

#include <stdlib.h>
#include <string.h>

char*
setup_lines_unquote(const char* text, const char** rest)
{
  char* const value = calloc(strlen(text) + 1, 1);
  size_t      n     = 0;
  *rest             = text;
  if (!value) {
    return NULL;
  }
  for (const char* c = text + 1; *c; ++c) {
    if (*c == '"' && *++c != '"') {
      *rest = c;
      return value;
    }
    value[n++] = *c;
  }
  free(value);
  *rest = NULL;
  return NULL;
}

/// Returns what follows the quotes that `text` starts with, NULL if they are
/// not closed
static const char*
quote_end(const char* text)
{
  for (const char* c = text + 1; *c; ++c) {
    if (*c == '"' && *++c != '"') {
      return c;
    }
  }
  return NULL;
}

const char*
setup_quotes_heading_end(const char* text, bool* is_open)
{
  *is_open = false;
  for (const char* c = text + 1; *c; ++c) {
    if (*c == '"' && strchr(" \t[", c[-1])) {
      c = quote_end(c);
      if (!c) {
        *is_open = true;
        return NULL;
      }
    }
    if (*c == ']') {
      return c;
    }
    if (!*c) {
      break;
    }
  }
  return NULL;
}

const char*
setup_quotes_find(const char* text)
{
  const char* c = text;
  while (*c && *c != '=' && *c != ':') {
    ++c;
    if (*c == ';' && strchr(" \t", c[-1])) {
      return NULL;
    }
  }
  if (*c) {
    c += 1 + strspn(c + 1, " \t");
  }
  return *c == '"' ? c : NULL;
}
