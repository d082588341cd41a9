// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "tube_level.h"

#include "dsp.h"

double
tube_level_gain(const tube_level_setting* s)
{
  (void)s;
  return 1.0 / 50.0;
}

void
tube_level_blend(const tube_level_setting* s,
                 double                    blend,
                 double*                   dry,
                 double*                   wet)
{
  *dry = 1.0 - blend;
  *wet = blend * tube_level_gain(s);
}
