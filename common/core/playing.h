// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// What a stage does to the loudness of playing, from its settings alone.
///
/// A stage whose loudness depends on its input level is turned up or down by a
/// constant for each setting, so that a control changes the sound and not the
/// loudness.  Each such constant comes from a function in a file of its own,
/// `*_loudness.h`: from settings, it returns the loudness of the output above
/// that of the input, in LU, for dry electric guitar at ALIGN_RMS_DBFS.  The
/// stage subtracts it.
///
/// There are two ways.  Where the gain at a level is known, a few levels stand
/// for playing, each with its share of the energy, and the gain is averaged
/// over them: playing_loudness_lu().  Where the circuit has no such law, the
/// loudness was measured over the settings and is read from a table
/// (common/tube/tube_loudness.c).  Pure; real-time safe.

#ifndef COMMON_CORE_PLAYING_H
#define COMMON_CORE_PLAYING_H

#include "dsp.h"

/// A part of the playing
typedef struct {
  double level_db; ///< As the law of the gain expects it
  double share;    ///< Share of the energy
} playing_part;

/// Returns output power over input power, at a level
typedef double (*playing_power_gain)(const void* settings,
                                     double      level_db) NONBLOCKING;

/// Returns the loudness of all parts after the gain, in LU; at least one part
static inline double
playing_loudness_lu(const playing_part* part,
                    uint32_t            n_parts,
                    playing_power_gain  gain,
                    const void*         settings)
{
  double power = part[0].share * gain(settings, part[0].level_db);
  for (uint32_t i = 1; i < n_parts; ++i) {
    power += part[i].share * gain(settings, part[i].level_db);
  }
  return 0.5 * gain_to_db(power);
}

#endif // COMMON_CORE_PLAYING_H
