// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "level_table.h"

#include "presets-demo/render/program/printable.h"

#include <math.h>
#include <string.h>

typedef struct {
  char text[32];
} cell;

/// Formats one decimal; "silent" below the gate, "-" for no value
static cell
decibels(double db)
{
  cell c = {"-"};
  if (isinf(db)) {
    c = (cell){"silent"};
  } else if (!isnan(db)) {
    (void)snprintf(c.text, sizeof(c.text), "%.1f", fabs(db) < 0.05 ? 0.0 : db);
  }
  return c;
}

static void
print_row(FILE*              out,
          uint32_t           width,
          const char*        name,
          const chain_stats* s,
          double             in_lufs,
          double             out_lufs)
{
  const cell mean = decibels(s->reduction_mean_db);
  const cell max  = decibels(s->reduction_max_db);
  char       reduction[sizeof(mean.text) + sizeof(max.text) + 4];
  (void)snprintf(reduction, sizeof(reduction), "%s / %s", mean.text, max.text);
  printable_cell(out, name, width);
  (void)fprintf(
    out, "  %6s  %6s  %7s  %7s  %6s  %6s  %11s  %7u\n", decibels(s->in_db).text,
    decibels(s->out_db).text, decibels(in_lufs).text, decibels(out_lufs).text,
    decibels(out_lufs - in_lufs).text, decibels(s->peak_db).text,
    isnan(s->reduction_mean_db) ? "-" : reduction, s->latency_frames);
}

void
level_table_print(FILE* out, const chain* c, const joint_loudness* l)
{
  const uint32_t n     = chain_n_stages(c);
  uint32_t       width = (uint32_t)strlen("stage");
  for (uint32_t i = 0; i < n; ++i) {
    width = printable_widen(width, chain_stage_stats(c, i).stem);
  }
  (void)fputs(
    "Level in and out: RMS in dBFS of the playing (400 ms windows above -70 "
    "dBFS, less those\nmore than 10 dB below the mean of the rest); "
    "loudness: LUFS, mono as heard from two\nloudspeakers; change: LU.  "
    "Reduction: mean / maximum in dB.  Latency: frames.\n",
    out);
  (void)fprintf(out, "%-*s  %6s  %6s  %7s  %7s  %6s  %6s  %11s  %7s\n",
                (int)width, "stage", "in", "out", "in LUFS", "out", "change",
                "peak", "reduction", "latency");
  for (uint32_t i = 0; i < n; ++i) {
    const chain_stats stats = chain_stage_stats(c, i);
    print_row(out, width, stats.stem, &stats, joint_loudness_lufs(l, i),
              joint_loudness_lufs(l, i + 1));
  }
  const chain_stats total = chain_total_stats(c);
  print_row(out, width, "total", &total, joint_loudness_lufs(l, 0),
            joint_loudness_lufs(l, n));
}
