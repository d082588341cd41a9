// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "breakup_loudness.h"

#include "breakup_follower.h"
#include "common/core/playing.h"

// Fitted, see the header
#define BEND        1.333  // Of the describing function
#define BAND        0.0105 // Share of loudness where the cone resonates
#define BAND_BEND   5.92   // How the loop gain falls with level
#define BAND_POWER  0.1
#define GRIT        1.585 // Of distortion
#define GRIT_CORNER 27.1  // x^2 above which it is constant

/// Octiles: their middles above the RMS level, and an eighth of the power there
static const playing_part octiles[] = {
  {-7.5, 0.022228492625486537}, {-5.0, 0.03952847075210475},
  {-3.7, 0.053322439850199084}, {-2.7, 0.067128974546281597},
  {-1.9, 0.080706778629331941}, {-1.0, 0.099291029340535186},
  {1.2, 0.16478209231955088},   {5.0, 0.39528470752104738},
};

static double
power_gain(const void* settings, double level_db) NONBLOCKING
{
  const breakup_settings* const s = (const breakup_settings*)settings;

  const double level_dbfs = ALIGN_RMS_DBFS + level_db + s->drive_db;
  const double hard       = (double)breakup_how_hard(level_dbfs);
  const double q          = 1.0 - s->follow * (1.0 - hard);
  const double d_db       = s->breakup_db * q;
  const double mix = s->mix * (BREAKUP_SOFT_MIX + (1.0 - BREAKUP_SOFT_MIX) * q);
  const double xx  = db_to_gain(2.0 * (d_db + level_dbfs));

  const double wet  = mix * db_to_gain((1.0 - BREAKUP_TAKEN_OFF) * d_db);
  const double copy = wet / sqrt(1.0 + BEND * xx);
  const double loop = s->feedback * q * pow(1.0 + BAND_BEND * xx, -BAND_POWER);
  const double all  = 1.0 - mix + copy;
  const double band = 1.0 - mix + copy / (1.0 - loop);
  const double grit = GRIT * wet * wet * xx / ((1.0 + xx) * (GRIT_CORNER + xx));
  return db_to_gain(-2.0 * s->squeeze_db * q) *
         ((1.0 - BAND) * all * all + BAND * band * band + grit);
}

double
breakup_loudness_lu(const breakup_settings* s)
{
  return playing_loudness_lu(octiles, sizeof(octiles) / sizeof(octiles[0]),
                             power_gain, s);
}
