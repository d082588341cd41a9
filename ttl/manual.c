// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "manual.h"

#include "words.h"

#include "plugin_list.h"

#include "plugins/shell.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define MAX_CONTROLS 64

/// Begins a part of the manual with the mark that rewrite.sh looks for
static void
begin(const char* part)
{
  printf("<!-- %s begin: written by ./dev ttl -->\n\n", part);
}

static void
end(const char* part)
{
  printf("\n<!-- %s end -->\n", part);
}

// ---------------------------------------------------------------------------
// Forms

static void
print_form(const plugin_form* f)
{
  static const char* const widths[] = {"", "mono", "stereo"};
  printf(" `%s`, %s", f->uri, widths[f->n_in]);
  if (f->n_in != f->n_out) {
    printf(" in, %s out", widths[f->n_out]);
  }
  printf(" |");
}

static void
print_forms(void)
{
  const plugin* p = NULL;

  begin("forms");
  printf("| Plugin | Form | Second form |\n|---|---|---|\n");
  for (uint32_t n = 0; (p = shell_plugin(n)); ++n) {
    printf("| %s |", p->name);
    for (uint32_t i = 0; i < 2; ++i) {
      if (i < shell_form_count(p)) {
        const plugin_form f = shell_form(p, i);
        print_form(&f);
      } else {
        printf(" |");
      }
    }
    printf("\n");
  }
  end("forms");
}

// ---------------------------------------------------------------------------
// Latency

static const double rates_hz[] = {44100.0, 48000.0, 96000.0, 192000.0};

enum { N_RATES = sizeof(rates_hz) / sizeof(rates_hz[0]) };

static const param_info*
quality_of(const stage_ops* ops)
{
  for (uint32_t i = 0; i < ops->n_params; ++i) {
    if (!strcmp(ops->params[i].symbol, "quality")) {
      return &ops->params[i];
    }
  }
  return NULL;
}

/// Returns the latency that a stage reports with one control at `value` and the
/// rest at their defaults
static uint32_t
latency_frames(const plugin*     p,
               double            rate_hz,
               const param_info* moved,
               float             value)
{
  const stage_ops* const ops                  = p->ops;
  float                  values[MAX_CONTROLS] = {0.0f};
  stage                  st                   = {0};
  void* const            state                = calloc(1, ops->size);
  if (!state || ops->n_params > MAX_CONTROLS ||
      !stage_init(&st, ops, state, rate_hz, shell_form(p, 0).n_out)) {
    (void)fprintf(stderr, "write: cannot prepare a stage\n");
    exit(1);
  }
  for (uint32_t i = 0; i < ops->n_params; ++i) {
    values[i] = &ops->params[i] == moved ? value : ops->params[i].def;
  }
  stage_set(&st, values);
  stage_reset(&st);
  const uint32_t frames = ops->latency_frames(state);
  free(state);
  return frames;
}

/// Prints the rows of a plugin that has a latency: one for each quality
static void
print_latencies(const plugin* p)
{
  const param_info* const quality = quality_of(p->ops);
  const uint32_t n_rows = quality ? words_label_count(quality->labels) : 1;
  for (uint32_t q = 0; q < n_rows; ++q) {
    if (!latency_frames(p, rates_hz[0], quality, (float)q)) {
      continue;
    }
    int               length = 0;
    const char* const label =
      quality ? words_label(quality->labels, q, &length) : "";
    printf("| %s |%s%.*s |", p->name, length ? " " : "", length, label);
    for (uint32_t i = 0; i < N_RATES; ++i) {
      printf(" %u |", latency_frames(p, rates_hz[i], quality, (float)q));
    }
    printf("\n");
  }
}

static void
print_track_latency(void)
{
  printf("| All track plugins | defaults |");
  for (uint32_t i = 0; i < N_RATES; ++i) {
    const plugin* p   = NULL;
    uint32_t      sum = 0;
    for (uint32_t n = 0; (p = shell_plugin(n)); ++n) {
      if (p->forms == FORMS_TRACK) {
        sum += latency_frames(p, rates_hz[i], NULL, 0.0f);
      }
    }
    printf(" %u |", sum);
  }
  printf("\n");
}

static void
print_latency_table(void)
{
  const plugin* p = NULL;

  begin("latency");
  printf("| Plugin | `quality` |");
  for (uint32_t i = 0; i < N_RATES; ++i) {
    printf(" %g kHz |", rates_hz[i] / 1000.0);
  }
  printf("\n|---|---|---|---|---|---|\n");
  for (uint32_t n = 0; (p = shell_plugin(n)); ++n) {
    print_latencies(p);
  }
  print_track_latency();
  end("latency");
}

// ---------------------------------------------------------------------------
// Controls

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
print_header(void)
{
  printf("\n| Control | Symbol | Range | Default | What it does |\n"
         "|---|---|---|---|---|\n");
}

/// Prints the rows of a plugin's controls from `first` on, under the names of
/// their groups
static void
print_params(const plugin* p, uint32_t first, uint32_t n)
{
  for (uint32_t i = first; i < first + n; ++i) {
    const param_info* const info  = shell_param(p, i);
    const uint32_t          group = shell_group_of(p, i);
    if (i == first || group != shell_group_of(p, i - 1)) {
      printf("| **%s** | | | | |\n", shell_group_name(p, group));
    }
    printf("| %s | `%s` | ", info->name, info->symbol);
    print_manual_range(info);
    printf(" | %s |\n", info->doc);
  }
}

static void
print_meters(const meter_info* meters, uint32_t n)
{
  if (n) {
    printf("| **Meters** | | | | |\n");
  }
  for (uint32_t i = 0; i < n; ++i) {
    const char* const unit = words_unit(meters[i].unit)->text;
    printf("| %s | `%s` | meter%s%s | | %s |\n", meters[i].name,
           meters[i].symbol, *unit ? ", " : "", unit, meters[i].doc);
  }
}

/// Prints what all plugins have, by the example of one
static void
print_shell(const plugin* p)
{
  const uint32_t last = SHELL_FIRST_PARAMS + p->ops->n_params;

  printf("### In every plugin\n");
  print_header();
  print_params(p, 0, SHELL_FIRST_PARAMS);
  print_params(p, last, shell_shown_count(p) - last);
  print_meters(shell_meter_info, shell_n_meters);
}

static void
print_controls(void)
{
  const plugin* p = NULL;

  begin("controls");
  print_shell(shell_plugin(0));
  for (uint32_t n = 0; (p = shell_plugin(n)); ++n) {
    printf("\n### %s (`%s`)\n\n%s\n", p->name, p->stem, p->summary);
    printf("\n![The window of %s](../presets-demo/pictures/%s.png)\n", p->name,
           p->stem);
    print_header();
    print_params(p, SHELL_FIRST_PARAMS, p->ops->n_params);
    print_meters(p->ops->meters, p->ops->n_meters);
  }
  end("controls");
}

void
manual_write(void)
{
  print_forms();
  print_latency_table();
  print_controls();
}
