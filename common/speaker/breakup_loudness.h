// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// What the breakup does to the loudness of playing, from its settings alone
/// (common/core/playing.h).
///
/// Eight levels that each carry an eighth of the energy stand for playing at
/// ALIGN_RMS_DBFS (of the follower's level over two takes of the demo's
/// guitar). At each, the loop adds to the dry share
///
///   - a copy of the signal with the describing function of the saturator,
///     D / sqrt(1 + a x^2), x the driven RMS amplitude;
///   - in the band where the cone resonates, that over 1 - loop gain;
///   - distortion, which comes and saturates as x grows.
///
/// The shares and corners were fitted to the loudness (ITU-R BS.1770-4) of 800
/// renderings of the two takes with random settings over the whole range of
/// all controls below (./dev levels --breakup): 0.89 LU RMS, within 2.1 LU of
/// the mean for 99 % of them, 3.8 LU at worst.  Most of that is between the
/// takes.

#ifndef COMMON_SPEAKER_BREAKUP_LOUDNESS_H
#define COMMON_SPEAKER_BREAKUP_LOUDNESS_H

#include "common/core/playing.h"

/// Part of the mix at the softest playing
#define BREAKUP_SOFT_MIX (2.0 / 9.0)

/// Power of the drive by which the saturator's output is turned down
#define BREAKUP_TAKEN_OFF 0.6

typedef struct {
  double drive_db;
  double follow;     ///< 0 to 1, as the following
  double breakup_db; ///< At position 1, as the following
  double mix;
  double feedback;
  double squeeze_db;
} breakup_settings;

#define BREAKUP_EIGHTHS 8

/// What was measured and fitted on playing
typedef struct {
  /// Levels above ALIGN_RMS_DBFS of the eighths of the energy
  playing_part eighth[BREAKUP_EIGHTHS];
  double       bend;        ///< Of the describing function
  double       band;        ///< Share of loudness where the cone resonates
  double       band_bend;   ///< How the loop gain falls with level
  double       band_power;  ///< How steeply
  double       grit;        ///< Of distortion
  double       grit_corner; ///< Driven power above which it is constant
} breakup_law;

extern const breakup_law breakup_loudness_law;

/// Does breakup_loudness_lu() by another law, to fit one
double
breakup_loudness_by(const breakup_law* law, const breakup_settings* s);

/// Returns the loudness of the breakup's output, re that of its input before
/// drive_db, in LU.  Real-time safe; some 50 libm calls.
double
breakup_loudness_lu(const breakup_settings* s);

#endif // COMMON_SPEAKER_BREAKUP_LOUDNESS_H
