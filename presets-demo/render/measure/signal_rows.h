// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Several signals side by side: what is measured of all of them is then
/// measured at once, a channel in each lane of a register.
///
/// Signals arrive one after the other, some later than others by the latency of
/// what is between them.  Here they wait until all have come to the same place:
/// frames that all have are ready, a row for each frame and eight channels.

#ifndef PRESETS_DEMO_RENDER_MEASURE_SIGNAL_ROWS_H
#define PRESETS_DEMO_RENDER_MEASURE_SIGNAL_ROWS_H

#include "common/core/lanes.h"

#define ROW_LANES 8U

/// At any address that a float may have
typedef f32x8 signal_row __attribute__((aligned(4)));

typedef struct signal_rows signal_rows;

/// Makes rows for signals of 1 or 2 channels each: in channel order from lane 0
/// of group 0 on.  Never returns NULL.
signal_rows*
signal_rows_new(const uint32_t* n_channels, uint32_t n_signals);

void
signal_rows_free(signal_rows* r);

/// Appends `n` frames to one signal
void
signal_rows_add(signal_rows*        r,
                uint32_t            signal,
                const float* const* x,
                uint32_t            n);

/// Returns the number of channels of a signal
uint32_t
signal_rows_n_channels(const signal_rows* r, uint32_t signal);

/// Returns how many frames all signals have
uint32_t
signal_rows_n_ready(const signal_rows* r);

/// Returns the rows that are ready, of channels 8 `group` to 8 `group` + 7;
/// lanes without a channel are 0
const signal_row*
signal_rows_group(const signal_rows* r, uint32_t group);

/// Forgets the first `n` of those that are ready
void
signal_rows_drop(signal_rows* r, uint32_t n);

/// Returns the number of groups that so many channels fill
static inline uint32_t
signal_rows_n_groups(uint32_t n_channels)
{
  return (n_channels + ROW_LANES - 1U) / ROW_LANES;
}

#endif // PRESETS_DEMO_RENDER_MEASURE_SIGNAL_ROWS_H
