// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// The figures of a plot as a table, for those who cannot see it, and for exact
/// reading

#ifndef PRESETS_DEMO_SESSION_REPORT_PLOT_TABLE_H
#define PRESETS_DEMO_SESSION_REPORT_PLOT_TABLE_H

#include <stdint.h>
#include <stdio.h>

#define PLOT_TABLE_MAX_COLUMNS 9U

typedef struct {
  char*    headings[PLOT_TABLE_MAX_COLUMNS];
  uint32_t n_columns;
  double*  values; ///< By row
  uint32_t n_rows, room;
} plot_table;

void
plot_table_clear(plot_table* t);

/// Adds a column before there are rows; its heading is copied
void
plot_table_add_column(plot_table* t, const char* heading);

/// Adds a row with a value for each column
void
plot_table_add_row(plot_table* t, const double* values);

/// Prints it, folded; `name` is that of the plot.  Nothing without rows.
void
plot_table_print(const plot_table* t, const char* name, FILE* html);

#endif // PRESETS_DEMO_SESSION_REPORT_PLOT_TABLE_H
