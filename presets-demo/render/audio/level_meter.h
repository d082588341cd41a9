// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Level and peak of a signal, measured while it plays.
///
/// Levels are mathematical RMS over all channels, in dBFS (0 dBFS is a sample
/// of 1.0), of the playing only: windows of 400 ms, one every 100 ms; those
/// below -70 dBFS are left out, then those more than 10 dB below the mean of
/// the rest.  The gate is that of Recommendation ITU-R BS.1770-5, without its
/// frequency weighting.  Memory is bounded for any length (gated_mean.h).

#ifndef PRESETS_DEMO_RENDER_AUDIO_LEVEL_METER_H
#define PRESETS_DEMO_RENDER_AUDIO_LEVEL_METER_H

#include "gated_mean.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#define LEVEL_GATE_DBFS (-70.0)

#define LEVEL_WINDOW_HOPS 4U ///< 400 ms

typedef struct {
  uint32_t   hop_frames;              ///< 100 ms
  uint32_t   n_hop;                   ///< Frames of the unfinished hop
  double     hop_sum;                 ///< Its mean square times n_hop
  double     hops[LEVEL_WINDOW_HOPS]; ///< Mean squares of the last hops
  uint64_t   n_hops;                  ///< Complete ones so far
  gated_mean windows;
  double     sum; ///< As hop_sum, of all frames
  uint64_t   n;
  float      peak; ///< Highest magnitude so far
} level_meter;

void
level_meter_init(level_meter* m, double rate_hz);

void
level_meter_clear(level_meter* m);

/// Measures `n` frames; returns false if one of them is not finite
bool
level_meter_add(level_meter*        m,
                const float* const* x,
                uint32_t            n_channels,
                uint32_t            n);

/// Returns the gated level; of less than 400 ms, the level of all of it;
/// -INFINITY if nothing is above the gate.
double
level_meter_gated_db(const level_meter* m);

/// Returns the peak level; -INFINITY for silence
double
level_meter_peak_db(const level_meter* m);

/// Returns 10 lg of a mean square; -INFINITY for 0
double
level_power_db(double power);

/// Returns the sum of the squares of `n` samples, not finite if one of them is
/// not; raises `peak` to their highest magnitude.  The same bits on every
/// machine.
double
level_sum_of_squares(const float* x, uint32_t n, float* peak);

#endif // PRESETS_DEMO_RENDER_AUDIO_LEVEL_METER_H
