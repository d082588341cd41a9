// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "compressor_loudness.h"

#include "common/core/dsp.h"
#include "gain_computer.h"

/// Level of a part of the playing, in dBFS of a sine's peak, and its share of
/// the energy
static const struct {
  double level_db, share;
} parts[] = {
  {-23.0, 0.015}, {-17.0, 0.100}, {-14.0, 0.150},
  {-11.0, 0.380}, {-8.0, 0.315},  {-5.0, 0.040},
};

double
compressor_loudness_loss_db(double threshold_db,
                            double slope,
                            double knee_db,
                            double offset_db)
{
  double left = 0.0;
  for (uint32_t i = 0; i < sizeof(parts) / sizeof(parts[0]); ++i) {
    const double over_db = parts[i].level_db + offset_db - threshold_db;
    const float  loss_db =
      gain_computer_reduction_db((float)over_db, (float)slope, (float)knee_db);
    left += parts[i].share * db_to_gain(-2.0 * (double)loss_db);
  }
  return -0.5 * gain_to_db(left);
}

double
compressor_loudness_peak_offset_db(double attack_s, double release_s)
{
  return 3.4 + 1.14 * log(release_s / 0.2) - 0.78 * log1p(attack_s / 0.0156);
}
