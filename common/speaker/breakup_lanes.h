// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// The breakup loop four samples at a time, for a resonator that is four
/// samples late: then all four saturators work side by side, and the
/// resonator's output is a matrix times known values.
///
/// Part of breakup.c, which does the same sample by sample for other delays.

#ifndef COMMON_SPEAKER_BREAKUP_LANES_H
#define COMMON_SPEAKER_BREAKUP_LANES_H

#include "breakup.h"

/// Computes the matrix for a resonator's coefficients
void
breakup_lanes_matrix(const double coefs[BREAKUP_COEFS], breakup_matrix* matrix);

/// Runs `n` frames of each channel, factor 4 or 8, in place
void
breakup_lanes_run(breakup*             b,
                  const breakup_moves* moves,
                  float* const*        samples,
                  uint32_t             n_channels,
                  uint32_t             n);

#endif // COMMON_SPEAKER_BREAKUP_LANES_H
