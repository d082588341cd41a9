// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Mean of the windows of a passage, pauses left out by two gates: those below
/// an absolute gate are left out, then those more than 10 dB below the mean of
/// the rest (Recommendation ITU-R BS.1770-5, annex 1, section 3).
///
/// Exact up to GATED_MEAN_EXACT windows.  Beyond them memory does not grow:
/// windows are counted in bins of 0.05 dB, and those that the second gate
/// leaves out, each less than a tenth of the mean, are taken from the exact sum
/// at the level of their bin; within 0.01 dB of the exact mean for a signal
/// whose windows crowd no bin at the gate.

#ifndef PRESETS_DEMO_RENDER_AUDIO_GATED_MEAN_H
#define PRESETS_DEMO_RENDER_AUDIO_GATED_MEAN_H

#include <stdint.h>

#define GATED_MEAN_EXACT 1024U ///< 102 s of a window every 100 ms

typedef struct {
  double    gate;    ///< The absolute gate, a power
  double    sum;     ///< Of all windows at or above it
  uint64_t  n;       ///< How many
  double*   windows; ///< The first GATED_MEAN_EXACT; NULL once there are more
  uint32_t  room;
  uint32_t* bins; ///< Windows by level; NULL until there are more
} gated_mean;

/// Begins with an absolute gate in dB of power, above which 132 dB are told
/// apart
void
gated_mean_init(gated_mean* g, double gate_db);

void
gated_mean_clear(gated_mean* g);

/// Takes the mean square of the next window
void
gated_mean_add(gated_mean* g, double power);

/// Returns the mean; 0 if no window is above the gate
double
gated_mean_power(const gated_mean* g);

#endif // PRESETS_DEMO_RENDER_AUDIO_GATED_MEAN_H
