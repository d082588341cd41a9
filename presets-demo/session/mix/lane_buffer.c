// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "lane_buffer.h"

#include "presets-demo/render/program/alloc.h"

#include <assert.h>
#include <stdlib.h>
#include <string.h>

void
lane_buffer_clear(lane_buffer* b)
{
  free(b->x[0]);
  free(b->x[1]);
  *b = (lane_buffer){.start = 0};
}

void
lane_buffer_make_room(lane_buffer* b, uint64_t forget, uint64_t n)
{
  const uint64_t from = forget > b->end ? b->end : forget;
  const uint64_t drop = from > b->start ? from - b->start : 0;
  const uint64_t keep = b->end - b->start - drop;
  for (uint32_t k = 0; k < 2; ++k) {
    if (drop && keep) {
      memmove(b->x[k], b->x[k] + drop, keep * sizeof(float));
    }
    if (keep + n > b->room) {
      b->x[k] = alloc_grow(b->x[k], keep + n, sizeof(float));
    }
  }
  b->start += drop;
  b->room = keep + n > b->room ? keep + n : b->room;
}

void
lane_buffer_append(lane_buffer* b, const float* const* x, uint32_t n)
{
  const uint64_t at = b->end - b->start;
  assert(at + n <= b->room);
  for (uint32_t k = 0; k < 2; ++k) {
    memcpy(b->x[k] + at, x[k], n * sizeof(float));
  }
  b->end += n;
}

const float*
lane_buffer_at(const lane_buffer* b, uint32_t channel, uint64_t position)
{
  // `end` is not checked: another thread may be moving it
  assert(position >= b->start);
  return b->x[channel] + (position - b->start);
}
