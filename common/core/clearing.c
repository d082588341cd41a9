// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "clearing.h"

#include <string.h>

void
clearing_begin(clearing* c, memory_parts parts, void* s, uint32_t n_steps)
{
  memory_part part;
  size_t      size = 0;
  for (uint32_t i = 0; parts && parts(s, i, &part); ++i) {
    size += part.size;
  }
  *c = (clearing){.piece = size / n_steps + 1U};
}

void
clearing_step(clearing* c, memory_parts parts, void* s)
{
  memory_part part;
  for (size_t size = c->piece; size && parts && parts(s, c->part, &part);) {
    const size_t left = part.size - c->at;
    const size_t n    = size < left ? size : left;
    memset((char*)part.at + c->at, 0, n);
    size -= n;
    c->at += n;
    if (c->at == part.size) {
      c->at = 0;
      ++c->part;
    }
  }
}
