// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "plot_table.h"

#include "html.h"

#include "presets-demo/render/program/alloc.h"

#include <assert.h>
#include <stdlib.h>
#include <string.h>

void
plot_table_clear(plot_table* t)
{
  for (uint32_t i = 0; i < t->n_columns; ++i) {
    free(t->headings[i]);
  }
  free(t->values);
  *t = (plot_table){.n_columns = 0};
}

void
plot_table_add_column(plot_table* t, const char* heading)
{
  assert(t->n_columns < PLOT_TABLE_MAX_COLUMNS);
  t->headings[t->n_columns++] = alloc_copy(heading);
}

void
plot_table_add_row(plot_table* t, const double* values)
{
  if (t->n_rows == t->room) {
    t->room = 2 * t->room + 64;
    t->values =
      alloc_grow(t->values, (size_t)t->room * t->n_columns, sizeof(*t->values));
  }
  memcpy(t->values + (size_t)t->n_rows++ * t->n_columns, values,
         t->n_columns * sizeof(*values));
}

static void
print_row(const plot_table* t, uint32_t row, FILE* html)
{
  const double* const x = t->values + (size_t)row * t->n_columns;
  (void)fprintf(html, "<tr><th scope=\"row\">%.0f</th>", x[0]);
  for (uint32_t i = 1; i < t->n_columns; ++i) {
    html_change(html, x[i], 1, "");
  }
  (void)fputs("</tr>\n", html);
}

void
plot_table_print(const plot_table* t, const char* name, FILE* html)
{
  if (!t->n_rows) {
    return;
  }
  (void)fputs("<details><summary>As a table</summary>\n", html);
  html_begin_scroll(html, name);
  (void)fputs("<table>\n<tr>", html);
  for (uint32_t i = 0; i < t->n_columns; ++i) {
    (void)fputs("<th scope=\"col\">", html);
    html_text(html, t->headings[i]);
    (void)fputs("</th>", html);
  }
  (void)fputs("</tr>\n", html);
  for (uint32_t row = 0; row < t->n_rows; ++row) {
    print_row(t, row, html);
  }
  (void)fputs("</table></div></details>\n", html);
}
