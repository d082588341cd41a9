// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "ears_table.h"

#include <math.h>
#include <stdbool.h>
#include <stdio.h>

#define LABEL_WIDTH 14
#define WIDTH       9

void
ears_table_head(const char* corner, const ears_column* columns, size_t n)
{
  (void)printf("%-*s", LABEL_WIDTH, corner);
  for (size_t i = 0; i < n; ++i) {
    (void)printf("%*s ", WIDTH - 1, columns[i].name);
  }
  (void)printf("\n");
}

static void
print_must(const ears_must* m)
{
  char text[32] = "";
  if (isfinite(m->min) && isfinite(m->max)) {
    (void)snprintf(text, sizeof(text), "%.4g..%.4g", m->min, m->max);
  } else if (isfinite(m->min)) {
    (void)snprintf(text, sizeof(text), ">=%.4g", m->min);
  } else if (isfinite(m->max)) {
    (void)snprintf(text, sizeof(text), "<=%.4g", m->max);
  }
  (void)printf("%*s ", WIDTH - 1, text);
}

void
ears_table_row(const char*        label,
               const ears_column* columns,
               size_t             n,
               const double*      values,
               const ears_must*   musts)
{
  bool has_must = false;
  (void)printf("%-*s", LABEL_WIDTH, label);
  for (size_t i = 0; i < n; ++i) {
    const double v = values[i];
    if (isnan(v)) {
      (void)printf("%*s ", WIDTH - 1, "-");
      continue;
    }
    const bool missed = musts && (v < musts[i].min || v > musts[i].max);
    (void)printf("%*.*f%c", WIDTH - 1, columns[i].decimals, v,
                 missed ? '!' : ' ');
  }
  (void)printf("\n");
  for (size_t i = 0; musts && i < n; ++i) {
    has_must = has_must || isfinite(musts[i].min) || isfinite(musts[i].max);
  }
  if (has_must) {
    (void)printf("%-*s", LABEL_WIDTH, "  must");
    for (size_t i = 0; i < n; ++i) {
      print_must(&musts[i]);
    }
    (void)printf("\n");
  }
}
