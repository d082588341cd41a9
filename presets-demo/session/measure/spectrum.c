// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "spectrum.h"

#include "presets-demo/render/program/alloc.h"

#include <stdlib.h>
#include <string.h>

/// Eight channels
typedef struct {
  signal_row* last; ///< The unfinished window
  signal_sums bands[SPECTRUM_N_BANDS];
} spectrum_group;

typedef struct {
  uint32_t first, n_channels;
} spectrum_signal;

struct spectrum {
  spectrum_tools*  tools;
  uint32_t         size, filled; ///< Frames of a window; of the unfinished one
  uint64_t         n_windows;
  spectrum_group*  groups;
  uint32_t         n_groups;
  spectrum_signal* signals;
};

spectrum*
spectrum_new(spectrum_tools* tools,
             const uint32_t* n_channels,
             uint32_t        n_signals)
{
  spectrum* const s  = alloc_new(1, sizeof(*s));
  uint32_t        at = 0;
  s->tools           = tools;
  s->size            = spectrum_tools_size(tools);
  s->signals         = alloc_new(n_signals, sizeof(*s->signals));
  for (uint32_t i = 0; i < n_signals; ++i) {
    s->signals[i] = (spectrum_signal){at, n_channels[i]};
    at += n_channels[i];
  }
  s->n_groups = signal_rows_n_groups(at);
  s->groups   = alloc_new(s->n_groups, sizeof(*s->groups));
  for (uint32_t i = 0; i < s->n_groups; ++i) {
    s->groups[i].last = alloc_new(s->size, sizeof(signal_row));
  }
  return s;
}

void
spectrum_free(spectrum* s)
{
  if (s) {
    for (uint32_t i = 0; i < s->n_groups; ++i) {
      free(s->groups[i].last);
    }
    free(s->groups);
    free(s->signals);
    free(s);
  }
}

/// Adds the full window to the sums, and keeps its second half
static void
end_window(spectrum* s)
{
  const uint32_t half = s->size / 2;
  for (uint32_t i = 0; i < s->n_groups; ++i) {
    spectrum_group* const g = &s->groups[i];
    spectrum_tools_add(s->tools, g->last, g->bands);
    memcpy(g->last, g->last + half, half * sizeof(signal_row));
  }
  s->filled = half;
  ++s->n_windows;
}

void
spectrum_add(spectrum* s, const signal_rows* rows, uint32_t n)
{
  for (uint32_t i = 0; i < n;) {
    const uint32_t left = s->size - s->filled;
    const uint32_t now  = n - i < left ? n - i : left;
    for (uint32_t k = 0; k < s->n_groups; ++k) {
      memcpy(s->groups[k].last + s->filled, signal_rows_group(rows, k) + i,
             now * sizeof(signal_row));
    }
    s->filled += now;
    i += now;
    if (s->filled == s->size) {
      end_window(s);
    }
  }
}

double
spectrum_band_power(const spectrum* s, uint32_t signal, uint32_t band)
{
  const spectrum_signal* const of  = &s->signals[signal];
  double                       sum = 0.0;
  for (uint32_t k = of->first; k < of->first + of->n_channels; ++k) {
    sum += s->groups[k / ROW_LANES].bands[band][k % ROW_LANES];
  }
  return sum * spectrum_tools_scale(s->tools, band, s->n_windows) /
         of->n_channels;
}
