// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "breakup_loudness.h"

#include "breakup_follower.h"

// Fitted, see the header
#define BEND        1.333  // Of the describing function
#define BAND        0.0105 // Share of loudness where the cone resonates
#define BAND_BEND   5.92   // How the loop gain falls with level
#define BAND_POWER  0.1
#define GRIT        1.585 // Of distortion
#define GRIT_CORNER 27.1  // x^2 from which it stays

/// Power of the output over that of the input at a level
static double
power_gain(const breakup_settings* s, double level_dbfs)
{
  const double hard = (double)breakup_how_hard(level_dbfs);
  const double q    = 1.0 - s->follow * (1.0 - hard);
  const double d_db = s->breakup_db * q;
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
  // Octiles' middles re the RMS level
  static const double level_db[] = {-7.5, -5.0, -3.7, -2.7,
                                    -1.9, -1.0, 1.2,  5.0};
  double              power      = 0.0;
  for (int i = 0; i < 8; ++i) {
    const double level = ALIGN_RMS_DBFS + level_db[i] + s->drive_db;
    power += 0.125 * db_to_gain(2.0 * level_db[i]) * power_gain(s, level);
  }
  return 0.5 * gain_to_db(power);
}
