// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// What the tubes do to the loudness of playing, from their settings alone
/// (common/core/playing.h).
///
/// Measured once on dry electric guitar at ALIGN_RMS_DBFS and kept as
/// constants: see the tables.  Pure functions, real-time safe.

#ifndef COMMON_TUBE_TUBE_LOUDNESS_H
#define COMMON_TUBE_TUBE_LOUDNESS_H

#include <stdint.h>

/// Settings that the loudness depends on
typedef struct {
  uint32_t n_stages; ///< 1 to 3
  double   drive_db, bias_pc, sag_pc, bright_db;
} tube_loudness_setting;

/// Volts at the output that count as full scale
#define TUBE_LOUDNESS_FULL_V 50.0

/// Returns the loudness of the tubed signal, with TUBE_LOUDNESS_FULL_V as full
/// scale, above that of the dry one, in LU
double
tube_loudness_lu(const tube_loudness_setting* s);

/// Writes the gains of dry and tubed at `blend` 0 to 1; their sum has the
/// loudness of the dry signal.  `wet` leads from volts to full scale and
/// removes tube_loudness_lu().
void
tube_loudness_blend(const tube_loudness_setting* s,
                    double                       blend,
                    double*                      dry,
                    double*                      wet);

#endif // COMMON_TUBE_TUBE_LOUDNESS_H
