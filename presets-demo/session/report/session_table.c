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
print_row(FILE* out, uint32_t width, const lane* l, const char* name)
{
  const probe* const in    = &l->probes[0];
  const cell         align = figure(l->take.align_db);
  const bool         has   = lane_is_aligned(l);
  printable_cell(out, name, width);
  (void)fprintf(out, "  %7s  %8s  %8s  %8s  %8s  %7u\n", has ? align.text : "-",
                figure(level_meter_gated_db(in->level)).text,
                figure(level_meter_gated_db(l->out.level)).text,
                figure(probe_loudness_lufs(&l->out)).text,
                figure(level_meter_peak_db(l->out.level)).text,
                chain_latency_frames(l->chain));
}

void
session_table_print(FILE* out, const mixdown* m)
{
  uint32_t width = (uint32_t)strlen("lane");
  for (uint32_t i = 0; i < mixdown_n_lanes(m); ++i) {
    width = printable_widen(width, mixdown_lane(m, i)->strip->name);
  }
  (void)fputs("Align: gain before the setup in dB.  Level in and out: gated "
              "RMS in dBFS.  "
              "Loudness: LUFS.\nPeak: dBFS.  Latency, taken out: frames.\n",
              out);
  (void)fprintf(out, "%-*s  %7s  %8s  %8s  %8s  %8s  %7s\n", (int)width, "lane",
                "align", "in", "out", "loudness", "peak", "latency");
  for (uint32_t i = 0; i < mixdown_n_lanes(m); ++i) {
    const lane* const l = mixdown_lane(m, i);
    print_row(out, width, l, l->strip->name);
  }
  const stereo_image* const i = mixdown_image(m);
  const probe* const        p = &mixdown_bus(m)->out;
  (void)fprintf(
    out,
    "Mix: %s LUFS, range %s LU, true peak %s dBTP; correlation %.2f, mono "
    "%s dB\n",
    figure(probe_loudness_lufs(p)).text, figure(probe_range_lu(p)).text,
    figure(probe_true_peak_db(p)).text, stereo_image_correlation(i),
    figure(stereo_image_mono_db(i)).text);
}
