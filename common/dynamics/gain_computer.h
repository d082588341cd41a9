// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Static curve of a compressor: straight, a quadratic knee, straight.
///
///   y = x                                       2 (x - T) < -W
///   y = x + (1/R - 1) (x - T + W/2)^2 / (2 W)   2 |x - T| <= W
///   y = T + (x - T) / R                         2 (x - T) > W
///
/// D. Giannoulis, M. Massberg, J. D. Reiss, "Digital Dynamic Range Compressor
/// Design", J. Audio Eng. Soc. 60(6), 2012.  Real-time safe.

#ifndef COMMON_DYNAMICS_GAIN_COMPUTER_H
#define COMMON_DYNAMICS_GAIN_COMPUTER_H

/// Returns the slope above the knee, as the share of each dB that is removed
static inline double
gain_computer_slope(double ratio)
{
  return 1.0 - 1.0 / ratio;
}

/// Returns the gain reduction x - y, in dB, 0 or more.  `over_db` is x - T;
/// `slope` from gain_computer_slope(); `knee_db` is W, 0 or more.  No branches.
static inline float
gain_computer_reduction_db(float over_db, float slope, float knee_db)
{
  const float w    = knee_db > 1e-6F ? knee_db : 1e-6F; // Never divide by 0
  const float up   = over_db + 0.5F * w;
  const float bent = up < 0.0F ? 0.0F : up > w ? w : up;
  const float past = over_db - 0.5F * w;
  const float line = past > 0.0F ? past : 0.0F;
  return slope * (bent * bent / (2.0F * w) + line);
}

#endif // COMMON_DYNAMICS_GAIN_COMPUTER_H
