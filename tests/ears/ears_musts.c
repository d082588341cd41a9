// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "ears_musts.h"

#include <math.h>

void
ears_musts_of(const ears_goal* goals,
              size_t           n_goals,
              int              row,
              ears_must*       musts,
              size_t           n)
{
  for (size_t i = 0; i < n; ++i) {
    musts[i] = (ears_must)EARS_ANY;
  }
  for (size_t i = 0; i < n_goals; ++i) {
    if (goals[i].row == row || goals[i].row == EARS_EVERY_ROW) {
      musts[goals[i].column] = goals[i].must;
    }
  }
}
