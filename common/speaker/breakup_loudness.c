// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "breakup_loudness.h"

#include "breakup_follower.h"

const breakup_law breakup_loudness_law = {
  .eighth =
    {
      {-3.8, 0.125},
      {0.6, 0.125},
      {3.2, 0.125},
      {4.7, 0.125},
      {5.8, 0.125},
      {6.7, 0.125},
      {7.7, 0.125},
      {10.1, 0.125},
    },
  .bend        = 1.574,
  .band        = 0.2672,
  .band_bend   = 44.55,
  .band_power  = 0.2096,
  .grit        = 1.562,
  .grit_corner = 16.51,
};

typedef struct {
  const breakup_law*      law;
  const breakup_settings* settings;
} law_at;

static double
power_gain(const void* at, double level_db) NONBLOCKING
{
  const law_at* const           both = (const law_at*)at;
  const breakup_settings* const s    = both->settings;
  const breakup_law* const      law  = both->law;

  const double level_dbfs = ALIGN_RMS_DBFS + level_db + s->drive_db;
  const double hard       = (double)breakup_how_hard(level_dbfs);
  const double q          = 1.0 - s->follow * (1.0 - hard);
  const double d_db       = s->breakup_db * q;
  const double mix = s->mix * (BREAKUP_SOFT_MIX + (1.0 - BREAKUP_SOFT_MIX) * q);
  const double xx  = db_to_gain(2.0 * (d_db + level_dbfs));

  const double wet  = mix * db_to_gain((1.0 - BREAKUP_TAKEN_OFF) * d_db);
  const double copy = wet / sqrt(1.0 + law->bend * xx);
  const double loop =
    s->feedback * q * steady_pow(1.0 + law->band_bend * xx, -law->band_power);
  const double all  = 1.0 - mix + copy;
  const double band = 1.0 - mix + copy / (1.0 - loop);
  const double grit =
    law->grit * wet * wet * xx / ((1.0 + xx) * (law->grit_corner + xx));
  return db_to_gain(-2.0 * s->squeeze_db * q) *
         ((1.0 - law->band) * all * all + law->band * band * band + grit);
}

double
breakup_loudness_by(const breakup_law* law, const breakup_settings* s)
{
  const law_at at = {law, s};
  return playing_loudness_lu(law->eighth, BREAKUP_EIGHTHS, power_gain, &at);
}

double
breakup_loudness_lu(const breakup_settings* s)
{
  return breakup_loudness_by(&breakup_loudness_law, s);
}
