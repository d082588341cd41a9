// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "manual.h"

#include "words.h"

#include "plugin_list.h"

#include "plugins/shell.h"

#include <stdio.h>

static void
print_manual_range(const param_info* p)
{
  char a[32];
  char b[32];
  char c[32];

  if (p->kind == PARAM_TOG) {
    printf("off, on | %s", p->def > 0.0f ? "on" : "off");
  } else if (p->kind == PARAM_SEL) {
    int         length = 0;
    const char* text   = NULL;
    for (uint32_t i = 0; i < words_label_count(p->labels); ++i) {
      text = words_label(p->labels, i, &length);
      printf("%s%.*s", i ? ", " : "", length, text);
    }
    text = words_label(p->labels, (uint32_t)p->def, &length);
    printf(" | %.*s", length, text);
  } else {
    const char* const unit = words_unit(p->unit)->text;
    printf("%s to %s%s%s | %s", words_decimal(p->min, a, sizeof(a)),
           words_decimal(p->max, b, sizeof(b)), *unit ? " " : "", unit,
           words_decimal(p->def, c, sizeof(c)));
  }
}

static void
print_manual_rows(const param_info* params,
                  uint32_t          n_params,
                  const meter_info* meters,
                  uint32_t          n_meters)
{
  printf("\n| Control | Symbol | Range | Default | What it does |\n"
         "|---|---|---|---|---|\n");
  for (uint32_t i = 0; i < n_params; ++i) {
    printf("| %s | `%s` | ", params[i].name, params[i].symbol);
    print_manual_range(&params[i]);
    printf(" | %s |\n", params[i].doc);
  }
  for (uint32_t i = 0; i < n_meters; ++i) {
    const char* const unit = words_unit(meters[i].unit)->text;
    printf("| %s | `%s` | meter%s%s | | %s |\n", meters[i].name,
           meters[i].symbol, *unit ? ", " : "", unit, meters[i].doc);
  }
}

void
manual_write(void)
{
  const plugin* p = NULL;

  printf("### In every plugin\n");
  print_manual_rows(shell_param_info, shell_n_params, shell_meter_info,
                    shell_n_meters);
  for (uint32_t n = 0; (p = shell_plugin(n)); ++n) {
    printf("\n### %s (`%s`)\n\n%s\n", p->name, p->stem, p->summary);
    print_manual_rows(p->ops->params, p->ops->n_params, p->ops->meters,
                      p->ops->n_meters);
  }
}
