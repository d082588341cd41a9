// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "compressor_loudness.h"

#include "common/core/playing.h"
#include "gain_computer.h"

/// Levels in dBFS of a sine's peak
static const playing_part parts[] = {
  {-23.0, 0.015}, {-17.0, 0.100}, {-14.0, 0.150},
  {-11.0, 0.380}, {-8.0, 0.315},  {-5.0, 0.040},
};

typedef struct {
  double threshold_db, slope, knee_db, offset_db;
} curve;

static double
power_gain(const void* settings, double level_db) NONBLOCKING
{
  const curve* const c = (const curve*)settings;

  const double over_db = level_db + c->offset_db - c->threshold_db;
  const float  loss_db = gain_computer_reduction_db(
     (float)over_db, (float)c->slope, (float)c->knee_db);
  return db_to_gain(-2.0 * (double)loss_db);
}

double
compressor_loudness_lu(double threshold_db,
                       double slope,
                       double knee_db,
                       double offset_db)
{
  const curve c = {threshold_db, slope, knee_db, offset_db};
  return playing_loudness_lu(parts, sizeof(parts) / sizeof(parts[0]),
                             power_gain, &c);
}

double
compressor_loudness_peak_offset_db(double attack_s, double release_s)
{
  return 3.4 + 1.14 * steady_log(release_s / 0.2) -
         0.78 * steady_log1p(attack_s / 0.0156);
}
