// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "mark.h"

#include "plugins/window/controls/chance.h"

uint32_t
mark_new(void)
{
  uint32_t mark = 0;
  while (!mark) {
    mark = chance_bits() & MARK_MOST;
  }
  return mark;
}
