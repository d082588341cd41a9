// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "printable_copy.h"

#include "utf8.h"

#include <stdint.h>
#include <stdio.h>

bool
printable_is_control(const char* character, size_t length)
{
  const uint32_t code = utf8_code(character, length);
  return code < 0x20 || (code >= 0x7F && code < 0xA0) ||
         (code >= 0x2028 && code <= 0x202E) ||
         (code >= 0x2066 && code <= 0x2069);
}

void
printable_copy(char* to, size_t room, const char* text)
{
  while (*text) {
    const size_t n       = utf8_length(text);
    const size_t take    = n ? n : 1;
    const bool   is_safe = n && !printable_is_control(text, n);
    const size_t need    = is_safe ? n : PRINTABLE_SHOWN_LENGTH * take;
    if (need >= room) {
      break;
    }
    for (size_t i = 0; i < take; ++i) {
      if (is_safe) {
        to[i] = text[i];
      } else {
        (void)snprintf(to + PRINTABLE_SHOWN_LENGTH * i,
                       PRINTABLE_SHOWN_LENGTH + 1, "\\x%02X",
                       (unsigned)(unsigned char)text[i]);
      }
    }
    to += need;
    room -= need;
    text += take;
  }
  if (room) {
    *to = '\0';
  }
}
