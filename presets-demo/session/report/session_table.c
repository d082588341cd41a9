// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "session_table.h"

#include "presets-demo/render/program/printable.h"

#include <math.h>
#include <string.h>

typedef struct {
  char text[32];
} cell;

/// Formats one decimal; "silent" for silence, "-" for no value
static cell
figure(double x)
{
  cell c = {"-"};
  if (isinf(x)) {
    c = (cell){"silent"};
  } else if (!isnan(x)) {
    (void)snprintf(c.text, sizeof(c.text), "%.1f", fabs(x) < 0.05 ? 0.0 : x);
  }
  return c;
}

static void
print_row(FILE*       out,
          uint32_t    width,
          const lane* l,
          const char* name,
          bool        has_cache)
{
  const lane_figures* const fs    = &l->figures;
  const cell                align = figure(l->take.align_db);
  const bool                has   = lane_is_aligned(l);
  printable_cell(out, name, width);
  (void)fprintf(out, "  %7s  %8s  %8s  %8s  %8s  %7u%s\n",
                has ? align.text : "-", figure(fs->joints[0].level_db).text,
                figure(fs->out.level_db).text, figure(fs->out.lufs).text,
                figure(fs->out.peak_db).text, fs->latency_frames,
                !has_cache ? ""
                : l->taken ? "  cache"
                           : "  played");
}

void
session_table_print(FILE* out, const mixdown* m)
{
  const bool has_cache = mixdown_keys(m) != NULL;
  uint32_t   width     = (uint32_t)strlen("lane");
  for (uint32_t i = 0; i < mixdown_n_lanes(m); ++i) {
    width = printable_widen(width, mixdown_lane(m, i)->strip->name);
  }
  (void)fputs("Align: gain before the setup in dB.  Level in and out: gated "
              "RMS in dBFS.  "
              "Loudness: LUFS.\nPeak: dBFS.  Latency, taken out: frames.\n",
              out);
  (void)fprintf(out, "%-*s  %7s  %8s  %8s  %8s  %8s  %7s%s\n", (int)width,
                "lane", "align", "in", "out", "loudness", "peak", "latency",
                has_cache ? "  from" : "");
  for (uint32_t i = 0; i < mixdown_n_lanes(m); ++i) {
    const lane* const l = mixdown_lane(m, i);
    print_row(out, width, l, l->strip->name, has_cache);
  }
  const stereo_image* const i = mixdown_image(m);
  const probe* const        p = &mixdown_bus(m)->out;
  (void)fprintf(
    out,
    "Mix: %s LUFS, range %s LU, true peak %s dBTP; correlation %.2f, mono "
    "%s dB\n",
    figure(mixdown_bus(m)->figures.out.lufs).text,
    figure(probe_range_lu(p)).text, figure(probe_true_peak_db(p)).text,
    stereo_image_correlation(i), figure(stereo_image_mono_db(i)).text);
}
