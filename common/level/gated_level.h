// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Level of a whole passage, pauses left out: integrated with two gates.
///
/// Overlapping 400 ms blocks, one every 100 ms.  Blocks below an absolute gate
/// do not count; of the others, those more than 10 dB below the mean of all do
/// not count either.  ITU-R BS.1770-5 (2023), Annex 1, gives this for loudness;
/// here it serves plain RMS as well: the caller decides.
///
/// Blocks are kept as a histogram of 0.05 dB bins with their energies, so any
/// length fits in fixed memory; for a long one the result is that of a list of
/// all blocks, to 0.01 dB.  A push does a bounded amount of work; all is
/// real-time safe.

#ifndef COMMON_LEVEL_GATED_LEVEL_H
#define COMMON_LEVEL_GATED_LEVEL_H

#include "common/core/dsp.h"

#define GATED_LEVEL_HOP_S 0.1
#define GATED_LEVEL_HOPS  4 ///< Hops in a block

#define GATED_LEVEL_LOW_DB      (-70.0)
#define GATED_LEVEL_BINS_PER_DB 20
#define GATED_LEVEL_BINS        2640 ///< -70 to +62 dB

/// Returned if no block passed
#define GATED_LEVEL_FLOOR_DB (-120.0)

typedef struct {
  double   gate_db;               ///< The absolute gate, -70 or more
  double   hop[GATED_LEVEL_HOPS]; ///< Mean squares of the last hops
  uint32_t n_hops;       ///< Hops since reset, at most GATED_LEVEL_HOPS
  uint32_t n_blocks;     ///< Blocks above the absolute gate, since reset
  double   energy;       ///< Their sum
  uint32_t gate_bin;     ///< First bin above the relative gate
  double   gate_place;   ///< The gate itself, in bins
  uint32_t n_above;      ///< Blocks from there on
  double   energy_above; ///< Their sum
  uint32_t now;          ///< Number of resets; older bins do not count
  uint32_t of[GATED_LEVEL_BINS]; ///< The reset after which a bin was filled
  uint32_t count[GATED_LEVEL_BINS];
  double   sum[GATED_LEVEL_BINS];
} gated_level;

/// Forgets all blocks, in a time that does not depend on how many there were.
/// The struct must be zero, or have been in use.
void
gated_level_reset(gated_level* g, double gate_db);

/// Takes the mean square of the next 100 ms.  True if the block that ends with
/// it passed the absolute gate.
bool
gated_level_push(gated_level* g, double mean_square);

/// Returns the integrated level since reset, in dB; GATED_LEVEL_FLOOR_DB if
/// nothing passed
double
gated_level_db(const gated_level* g);

/// Returns how much has passed both gates since reset, in seconds.  It stands
/// still in silence, and falls when louder playing lifts the relative gate over
/// what counted before.
double
gated_level_passed_s(const gated_level* g);

#endif // COMMON_LEVEL_GATED_LEVEL_H
