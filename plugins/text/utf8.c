// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "utf8.h"

/// Range of first bytes, range of the second byte, and number of bytes
static const struct {
  unsigned char first, last, low, high;
  size_t        length;
} rows[] = {
  {0x00, 0x7F, 0x00, 0xFF, 1}, {0xC2, 0xDF, 0x80, 0xBF, 2},
  {0xE0, 0xE0, 0xA0, 0xBF, 3}, {0xE1, 0xEC, 0x80, 0xBF, 3},
  {0xED, 0xED, 0x80, 0x9F, 3}, {0xEE, 0xEF, 0x80, 0xBF, 3},
  {0xF0, 0xF0, 0x90, 0xBF, 4}, {0xF1, 0xF3, 0x80, 0xBF, 4},
  {0xF4, 0xF4, 0x80, 0x8F, 4},
};

size_t
utf8_length(const char* text)
{
  const unsigned char* const c = (const unsigned char*)text;
  size_t                     n = 0;
  for (size_t i = 0; i < sizeof(rows) / sizeof(rows[0]) && !n; ++i) {
    if (c[0] >= rows[i].first && c[0] <= rows[i].last) {
      n = rows[i].length;
      if (n > 1 && (c[1] < rows[i].low || c[1] > rows[i].high)) {
        return 0;
      }
    }
  }
  for (size_t i = 2; i < n; ++i) {
    if ((c[i] & 0xC0U) != 0x80U) {
      return 0;
    }
  }
  return n;
}

uint32_t
utf8_code(const char* text, size_t length)
{
  static const uint32_t firsts[] = {0x7F, 0x7F, 0x1F, 0x0F, 0x07};
  uint32_t              code     = (unsigned char)*text & firsts[length];
  for (size_t i = 1; i < length; ++i) {
    code = code << 6U | ((unsigned char)text[i] & 0x3FU);
  }
  return code;
}
