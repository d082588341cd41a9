// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "breakup_loudness.h"

#include "breakup_follower.h"

const breakup_law breakup_loudness_law = {
  .octile =
    {
      {-7.5, 0.022228492625486537},
      {-5.0, 0.03952847075210475},
      {-3.7, 0.053322439850199084},
      {-2.7, 0.067128974546281597},
      {-1.9, 0.080706778629331941},
      {-1.0, 0.099291029340535186},
      {1.2, 0.16478209231955088},
      {5.0, 0.39528470752104738},
    },
  .bend        = 1.333,
  .band        = 0.0105,
  .band_bend   = 5.92,
  .band_power  = 0.1,
  .grit        = 1.585,
  .grit_corner = 27.1,
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
    s->feedback * q * pow(1.0 + law->band_bend * xx, -law->band_power);
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
  return playing_loudness_lu(law->octile, BREAKUP_OCTILES, power_gain, &at);
}

double
breakup_loudness_lu(const breakup_settings* s)
{
  return breakup_loudness_by(&breakup_loudness_law, s);
}
