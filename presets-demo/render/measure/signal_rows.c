// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "signal_rows.h"

#include "presets-demo/render/program/alloc.h"

#include <assert.h>
#include <stdlib.h>
#include <string.h>

typedef struct {
  uint32_t first; ///< Its first channel
  uint32_t n_channels;
  uint32_t n; ///< Frames that wait
} row_signal;

struct signal_rows {
  uint32_t    n_signals, n_groups;
  row_signal* signals;
  float**     groups; ///< `room` rows of ROW_LANES each
  uint32_t    room;
};

signal_rows*
signal_rows_new(const uint32_t* n_channels, uint32_t n_signals)
{
  signal_rows* const r  = alloc_new(1, sizeof(*r));
  uint32_t           at = 0;
  r->n_signals          = n_signals;
  r->signals            = alloc_new(n_signals, sizeof(*r->signals));
  for (uint32_t i = 0; i < n_signals; ++i) {
    r->signals[i] = (row_signal){.first = at, .n_channels = n_channels[i]};
    at += n_channels[i];
  }
  r->n_groups = signal_rows_n_groups(at);
  r->groups   = alloc_new(r->n_groups, sizeof(float*));
  return r;
}

void
signal_rows_free(signal_rows* r)
{
  if (r) {
    for (uint32_t i = 0; i < r->n_groups; ++i) {
      free(r->groups[i]);
    }
    free(r->groups);
    free(r->signals);
    free(r);
  }
}

static void
make_room(signal_rows* r, uint32_t room)
{
  for (uint32_t i = 0; room > r->room && i < r->n_groups; ++i) {
    float* const grown =
      alloc_grow(r->groups[i], (size_t)room * ROW_LANES, sizeof(float));
    memset(grown + (size_t)r->room * ROW_LANES, 0,
           (size_t)(room - r->room) * ROW_LANES * sizeof(float));
    r->groups[i] = grown;
  }
  r->room = room > r->room ? room : r->room;
}

void
signal_rows_add(signal_rows*        r,
                uint32_t            signal,
                const float* const* x,
                uint32_t            n)
{
  row_signal* const s = &r->signals[signal];
  make_room(r, s->n + n);
  for (uint32_t k = 0; k < s->n_channels; ++k) {
    const uint32_t     lane = s->first + k;
    const float* const from = x[k];
    float* const       to =
      r->groups[lane / ROW_LANES] + lane % ROW_LANES + (size_t)s->n * ROW_LANES;
    for (uint32_t i = 0; i < n; ++i) {
      to[(size_t)i * ROW_LANES] = from[i];
    }
  }
  s->n += n;
}

uint32_t
signal_rows_n_channels(const signal_rows* r, uint32_t signal)
{
  return r->signals[signal].n_channels;
}

uint32_t
signal_rows_n_ready(const signal_rows* r)
{
  uint32_t n = UINT32_MAX;
  for (uint32_t i = 0; i < r->n_signals; ++i) {
    n = r->signals[i].n < n ? r->signals[i].n : n;
  }
  return n;
}

const signal_row*
signal_rows_group(const signal_rows* r, uint32_t group)
{
  return (const signal_row*)(const void*)r->groups[group];
}

void
signal_rows_drop(signal_rows* r, uint32_t n)
{
  uint32_t most = 0;
  for (uint32_t i = 0; i < r->n_signals; ++i) {
    assert(r->signals[i].n >= n);
    r->signals[i].n -= n;
    most = r->signals[i].n > most ? r->signals[i].n : most;
  }
  for (uint32_t i = 0; most && i < r->n_groups; ++i) {
    memmove(r->groups[i], r->groups[i] + (size_t)n * ROW_LANES,
            (size_t)most * ROW_LANES * sizeof(float));
  }
}
