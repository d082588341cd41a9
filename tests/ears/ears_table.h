// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Tables of ours beside what must be

#ifndef TESTS_EARS_EARS_TABLE_H
#define TESTS_EARS_EARS_TABLE_H

#include <stddef.h>

/// What must be, both ends included; of what may be anything, both are infinite
typedef struct {
  double min, max;
} ears_must;

#define EARS_ANY                                      \
  {                                                   \
    .min = -(double)INFINITY, .max = (double)INFINITY \
  }

typedef struct {
  const char* name;
  int         decimals;
} ears_column;

void
ears_table_head(const char* corner, const ears_column* columns, size_t n);

/// A row, each value that misses what must be marked by a "!"; then a row of
/// what must be, if there is anything.  `musts` may be NULL.  NAN: not
/// measured.
void
ears_table_row(const char*        label,
               const ears_column* columns,
               size_t             n,
               const double*      values,
               const ears_must*   musts);

#endif // TESTS_EARS_EARS_TABLE_H
