// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Loudness of the tubed signal, from the settings.
///
/// Measured once on dry electric guitar at -18 dBFS RMS and kept as constants:
/// see the tables.  Pure functions, real-time safe.

#ifndef COMMON_TUBE_TUBE_LOUDNESS_H
#define COMMON_TUBE_TUBE_LOUDNESS_H

#include <stdint.h>

/// Settings that the loudness depends on
typedef struct {
  uint32_t n_stages; ///< 1 to 3
  double   drive_db, bias_pc, sag_pc, bright_db;
} tube_loudness_setting;

/// Gain, from V at the output to full scale, that gives the tubed signal the
/// loudness of the dry one
double
tube_loudness_gain(const tube_loudness_setting* s);

/// Gains of dry and tubed at `blend` 0 to 1; their sum has the loudness of the
/// dry signal.  `wet` includes tube_loudness_gain().
void
tube_loudness_blend(const tube_loudness_setting* s,
                    double                       blend,
                    double*                      dry,
                    double*                      wet);

#endif // COMMON_TUBE_TUBE_LOUDNESS_H
