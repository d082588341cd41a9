// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// What a row of a table must be, picked from a list

#ifndef TESTS_EARS_EARS_MUSTS_H
#define TESTS_EARS_EARS_MUSTS_H

#include "ears_table.h"

#define EARS_EVERY_ROW (-1)

typedef struct {
  int       row; ///< Or EARS_EVERY_ROW
  int       column;
  ears_must must;
} ears_goal;

/// Fill in `n` columns of a row: the last goal for each counts
void
ears_musts_of(const ears_goal* goals,
              size_t           n_goals,
              int              row,
              ears_must*       musts,
              size_t           n);

#endif // TESTS_EARS_EARS_MUSTS_H
