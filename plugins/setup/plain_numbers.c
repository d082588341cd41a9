// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "plain_numbers.h"

plain_numbers
plain_numbers_begin(void)
{
  plain_numbers n = {newlocale(LC_NUMERIC_MASK, "C", (locale_t)0), (locale_t)0};
  n.before        = n.plain ? uselocale(n.plain) : (locale_t)0;
  return n;
}

void
plain_numbers_end(plain_numbers n)
{
  if (n.plain) {
    (void)uselocale(n.before);
    freelocale(n.plain);
  }
}
