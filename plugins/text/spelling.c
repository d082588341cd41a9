// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "spelling.h"

#include <stddef.h>
#include <stdio.h>
#include <string.h>
#include <strings.h>

#define MAX_LETTERS 63U

static uint32_t
least(uint32_t a, uint32_t b)
{
  return a < b ? a : b;
}

static uint32_t
length(const char* word)
{
  return (uint32_t)strnlen(word, MAX_LETTERS);
}

static bool
same(const char* a, const char* b)
{
  return !strncasecmp(a, b, 1);
}

uint32_t
spelling_distance(const char* a, const char* b)
{
  // d[i][j]: edits from the first i letters of a to the first j of b
  uint32_t       d[MAX_LETTERS + 1][MAX_LETTERS + 1];
  const uint32_t n_a = length(a);
  const uint32_t n_b = length(b);

  for (uint32_t i = 0; i <= n_a; ++i) {
    d[i][0] = i;
  }
  for (uint32_t j = 0; j <= n_b; ++j) {
    d[0][j] = j;
  }
  for (uint32_t i = 1; i <= n_a; ++i) {
    for (uint32_t j = 1; j <= n_b; ++j) {
      const uint32_t replace = d[i - 1][j - 1] + !same(a + i - 1, b + j - 1);
      d[i][j] = least(replace, least(d[i - 1][j], d[i][j - 1]) + 1);
      if (i > 1 && j > 1 && same(a + i - 1, b + j - 2) &&
          same(a + i - 2, b + j - 1)) {
        d[i][j] = least(d[i][j], d[i - 2][j - 2] + 1);
      }
    }
  }
  return d[n_a][n_b];
}

/// Returns the distance to a symbol, or one more than to it without its unit:
/// "drive" is near "drive_db"
static uint32_t
edits_to(const char* word, const char* symbol)
{
  const uint32_t    whole = spelling_distance(word, symbol);
  const char* const unit  = strrchr(symbol, '_');
  char              plain[MAX_LETTERS + 1];
  if (!unit || unit - symbol > (ptrdiff_t)MAX_LETTERS) {
    return whole;
  }
  memcpy(plain, symbol, (size_t)(unit - symbol));
  plain[unit - symbol] = '\0';
  return least(whole, spelling_distance(word, plain) + 1);
}

const char*
spelling_nearest(const char* word, const char* const* known, uint32_t n)
{
  const char* best       = NULL;
  uint32_t    best_edits = UINT32_MAX;
  for (uint32_t i = 0; i < n; ++i) {
    const uint32_t edits = edits_to(word, known[i]);
    const uint32_t longer =
      length(known[i]) > length(word) ? length(known[i]) : length(word);
    const uint32_t limit = longer / 3 > 2 ? longer / 3 : 2;
    if (edits < best_edits && edits <= limit) {
      best       = known[i];
      best_edits = edits;
    }
  }
  return best;
}

bool
spelling_fail(const char*        kind,
              const char*        word,
              const char*        where,
              const char* const* known,
              uint32_t           n,
              failure*           f)
{
  const char* const near = spelling_nearest(word, known, n);
  if (near) {
    return fail_with(f, "unknown %s '%s'%s; did you mean '%s'?", kind, word,
                     where, near);
  }
  char   list[1024] = "";
  size_t used       = 0;
  for (uint32_t i = 0; i < n && used < sizeof(list); ++i) {
    used += (size_t)snprintf(list + used, sizeof(list) - used, "%s%s",
                             i ? ", " : "", known[i]);
  }
  return fail_with(f, "unknown %s '%s'%s; expected one of: %s", kind, word,
                   where, list);
}
