// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// RMS level of the last 400 ms, over all channels of a signal.
///
/// A rectangular window kept as some forty bins of about 10 ms, each a whole
/// number of grid lines, so that it costs one multiply-add per sample and
/// cannot drift; the oldest bin leaves whole, so the window is 390 to 400 ms.
/// The time before the first frame counts as silence.  Real-time safe.

#ifndef COMMON_LEVEL_LEVEL_H
#define COMMON_LEVEL_LEVEL_H

#include "common/core/dsp.h"

#define LEVEL_WINDOW_S 0.4
#define LEVEL_BIN_S    0.01
#define LEVEL_MAX_BINS 64

/// Returned for silence
#define LEVEL_FLOOR_DBFS (-120.0)

typedef struct {
  uint32_t bin_lines;           ///< Grid lines per bin
  uint32_t n_bins;              ///< Bins in the window
  uint32_t lines;               ///< Grid lines since the present bin began
  uint32_t bin;                 ///< The present bin
  uint32_t added;               ///< Samples in it, of all channels
  double   others;              ///< Sum of all bins but the present one
  double   closed;              ///< Sum of the last full bin
  double   sum[LEVEL_MAX_BINS]; ///< Sums of squares, per bin
} level;

/// Prepares for a rate, and resets
void
level_init(level* l, double rate_hz);

void
level_reset(level* l);

/// Takes a grid line, before the frames that follow it.  True if a bin is full:
/// its sum of squares over level_bin_samples() is in `closed`.
bool
level_control(level* l);

/// Adds `n` frames, up to the next grid line
void
level_add(level* l, const float* x, uint32_t n);

/// Returns the number of samples in a full bin of `n_channels` signals
double
level_bin_samples(const level* l, uint32_t n_channels);

/// Returns the mean over the `n_channels` signals added, in dBFS;
/// LEVEL_FLOOR_DBFS or more
double
level_db(const level* l, uint32_t n_channels);

#endif // COMMON_LEVEL_LEVEL_H
