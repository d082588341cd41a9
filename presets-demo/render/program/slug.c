// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "slug.h"

#include "alloc.h"
#include "plugins/text/utf8.h"

#include <stdbool.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

/// White space, controls and invisible characters (Unicode 15, general
/// categories Z and C)
static const uint32_t unseen[][2] = {
  {0x80, 0xA0},        {0xAD, 0xAD},     {0x600, 0x605},   {0x61C, 0x61C},
  {0x6DD, 0x6DD},      {0x70F, 0x70F},   {0x1680, 0x1680}, {0x180E, 0x180E},
  {0x2000, 0x200F},    {0x2028, 0x202F}, {0x205F, 0x206F}, {0x3000, 0x3000},
  {0xE000, 0xF8FF},    {0xFEFF, 0xFEFF}, {0xFFF0, 0xFFFB}, {0xFFFE, 0xFFFF},
  {0xE0000, 0x10FFFF},
};

static bool
may_stay(const char* character, size_t length)
{
  const uint32_t code = utf8_code(character, length);
  if (code < 0x80) {
    return (code >= '0' && code <= '9') || (code >= 'A' && code <= 'Z') ||
           (code >= 'a' && code <= 'z') || strchr("._+", (int)code);
  }
  for (size_t i = 0; i < sizeof(unseen) / sizeof(unseen[0]); ++i) {
    if (code >= unseen[i][0] && code <= unseen[i][1]) {
      return false;
    }
  }
  return true;
}

char*
slug_new(const char* name, const char* empty)
{
  char*  slug    = alloc_new(SLUG_MAX + 1, 1);
  size_t n       = 0;
  bool   has_gap = false;
  while (*name) {
    const size_t length = utf8_length(name);
    const size_t step   = length ? length : 1;
    if (!length || !may_stay(name, length)) {
      has_gap = n > 0;
    } else if (n || *name != '.') { // No hidden file
      if (n + has_gap + length > SLUG_MAX) {
        break;
      }
      if (has_gap) {
        slug[n++] = '-';
      }
      memcpy(slug + n, name, length);
      n += length;
      has_gap = false;
    }
    name += step;
  }
  if (!n) {
    free(slug);
    return alloc_copy(empty);
  }
  return slug;
}
