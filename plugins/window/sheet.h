// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Where a stage's controls stand on its sheet: columns of rows under headings,
/// with what the heading leaves to say.  Controls that no heading names stand
/// at the end of the shortest column, with their whole name.

#ifndef PLUGINS_WINDOW_SHEET_H
#define PLUGINS_WINDOW_SHEET_H

#include "plugins/shell.h"

enum { SHEET_MAX_COLUMNS = 4, SHEET_MAX_ROWS = 12 };

typedef struct {
  uint32_t    param; ///< As in shell_param()
  const char* name;
} sheet_row;

typedef struct {
  const char* heading;
  sheet_row   rows[SHEET_MAX_ROWS];
  uint32_t    n;
} sheet_column;

typedef struct {
  sheet_column columns[SHEET_MAX_COLUMNS];
  uint32_t     n;
  uint32_t     most_rows; ///< Of its longest column
} sheet;

sheet
sheet_of(const plugin* p);

/// Whether a control has an effect with the others as they are: `values` of all
/// controls, as in shell_param()
bool
sheet_has_effect(const plugin* p, uint32_t param, const float* values);

/// Whether a choice is drawn as polar patterns
bool
sheet_is_polar(const plugin* p, uint32_t param);

#endif // PLUGINS_WINDOW_SHEET_H
