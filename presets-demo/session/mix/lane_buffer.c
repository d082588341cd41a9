// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "lane_buffer.h"

#include "presets-demo/render/program/alloc.h"

#include <assert.h>
#include <stdlib.h>
#include <string.h>

void
lane_buffer_clear(lane_buffer* t)
{
  free(t->x[0]);
  free(t->x[1]);
  *t = (lane_buffer){.start = 0};
}

void
lane_buffer_make_room(lane_buffer* t, uint64_t forget, uint64_t n)
{
  const uint64_t from = forget > t->end ? t->end : forget;
  const uint64_t drop = from > t->start ? from - t->start : 0;
  const uint64_t keep = t->end - t->start - drop;
  for (uint32_t k = 0; k < 2; ++k) {
    if (drop && keep) {
      memmove(t->x[k], t->x[k] + drop, keep * sizeof(float));
    }
    if (keep + n > t->room) {
      t->x[k] = alloc_grow(t->x[k], keep + n, sizeof(float));
    }
  }
  t->start += drop;
  t->room = keep + n > t->room ? keep + n : t->room;
}

void
lane_buffer_append(lane_buffer* t, const float* const* x, uint32_t n)
{
  const uint64_t at = t->end - t->start;
  assert(at + n <= t->room);
  for (uint32_t k = 0; k < 2; ++k) {
    memcpy(t->x[k] + at, x[k], n * sizeof(float));
  }
  t->end += n;
}

const float*
lane_buffer_at(const lane_buffer* t, uint32_t channel, uint64_t position)
{
  // Not the end: another thread may be about to move it
  assert(position >= t->start);
  return t->x[channel] + (position - t->start);
}
