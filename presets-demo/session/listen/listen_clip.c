// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "listen_clip.h"

#include "presets-demo/render/program/alloc.h"

#include <stdlib.h>
#include <string.h>

void
listen_clip_init(listen_clip* c, uint64_t from, uint32_t n, uint32_t n_channels)
{
  *c = (listen_clip){.from = from, .n = n, .n_channels = n_channels};
  for (uint32_t k = 0; k < n_channels; ++k) {
    c->x[k] = alloc_new(n, sizeof(float));
  }
}

void
listen_clip_clear(listen_clip* c)
{
  free(c->x[0]);
  free(c->x[1]);
  *c = (listen_clip){.n = 0};
}

void
listen_clip_pass(listen_clip* c, const float* const* x, uint32_t n)
{
  const uint64_t at = c->n_passed;
  c->n_passed += n;
  const uint64_t end   = c->from + c->n;
  const uint64_t first = at > c->from ? at : c->from;
  const uint64_t last  = at + n < end ? at + n : end;
  for (uint32_t k = 0; first < last && k < c->n_channels; ++k) {
    memcpy(c->x[k] + (first - c->from), x[k] + (first - at),
           (size_t)(last - first) * sizeof(float));
  }
}

void
listen_clip_add(listen_clip* c, const listen_clip* other)
{
  const uint32_t n = other->n < c->n ? other->n : c->n;
  for (uint32_t k = 0; k < c->n_channels; ++k) {
    const float* const x = other->x[other->n_channels == 2 ? k : 0];
    for (uint32_t i = 0; i < n; ++i) {
      c->x[k][i] += x[i];
    }
  }
}
