// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Reverberation time of a response

#ifndef TESTS_DECAY_H
#define TESTS_DECAY_H

#include "check.h"

/// Time to -60 dB from the slope of the level between `from_db` and `to_db`, by
/// least squares: T30 is -5 to -35 dB, EDT 0 to -10 dB (ISO 3382-1).  `energy`
/// is that of each frame; it is integrated backwards in place (M. R. Schroeder,
/// J. Acoust. Soc. Am. 37 (1965) 409).
static inline double
decay_time_s(double*  energy,
             uint32_t n,
             double   frame_s,
             double   from_db,
             double   to_db)
{
  for (uint32_t t = n - 1; t-- > 0;) {
    energy[t] += energy[t + 1];
  }
  double m = 0, sx = 0, sy = 0, sxx = 0, sxy = 0;
  for (uint32_t t = 0; t < n; ++t) {
    const double y = 10.0 * log10(energy[t] / energy[0] + 1e-30);
    if (y <= from_db && y >= to_db) {
      const double x = t * frame_s;
      m += 1.0;
      sx += x;
      sy += y;
      sxx += x * x;
      sxy += x * y;
    }
  }
  return -60.0 / ((m * sxy - sx * sy) / (m * sxx - sx * sx));
}

#endif // TESTS_DECAY_H
