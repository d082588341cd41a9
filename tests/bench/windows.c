// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Cost of windows while a song of 64 tracks plays (song.h), on the display
/// that DISPLAY names: what each takes of a core, how many pictures a second
/// are kept, and its memory.  One thread serves all windows, 30 times a second,
/// as a host's does.

#include "desk.h"

#include "report.h"

#include <dlfcn.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

enum {
  BEFORE_S = 6, ///< Not measured: opening, and meters that fall
  SECONDS  = 20,
};

// Budgets of one window, in % of a core and ms; see DEVELOPERS.md
#define PLAYING_PC 1.0
#define SILENT_PC  0.1
#define AT_ONCE_MS 10.0

// ---------------------------------------------------------------------------
// Tables

static void
report_views(const desk* k, const totals* t)
{
  for (uint32_t i = 0; i < k->n; ++i) {
    const view* const v         = &k->views[i];
    const double      pc        = 100 * v->spent_s / t->wall_s;
    const double      budget_pc = v->is_silent ? SILENT_PC : PLAYING_PC;
    const bool        is_over = pc > budget_pc || 1e3 * v->most_s > AT_ONCE_MS;
    report_text("what", v->of->s.p->stem);
    report_text("signal", v->is_silent ? "silent" : "playing");
    report_number("core_pc", 3, pc);
    report_number("budget_pc", 1, budget_pc);
    report_number("most_ms", 2, 1e3 * v->most_s);
    report_number("budget_ms", 0, AT_ONCE_MS);
    report_number("memory_kib", 0, v->memory_kib);
    report_text("verdict", is_over ? "OVER" : "budget");
    report_end_row();
  }
}

static void
report_totals(const desk*   k,
              const totals* t,
              const char*   key,
              const char*   title)
{
  double memory_kib = 0;
  for (uint32_t i = 0; i < k->n; ++i) {
    memory_kib += k->views[i].memory_kib;
  }
  report_section(key, title);
  report_text("what", "together");
  report_number("windows", 0, k->n);
  report_number("turns_hz", 2, t->n_turns / t->wall_s);
  report_number("late_turns", 0, t->n_late);
  report_number("core_pc", 2, 100 * t->ui_s / t->wall_s);
  report_number("turn_ms", 2, 1e3 * t->ui_s / t->n_turns);
  report_number("of_turn_pc", 1, 100 * DESK_HZ * t->ui_s / t->n_turns);
  report_number("most_ms", 2, 1e3 * t->most_s);
  report_number("beside_pc", 2,
                100 * (t->all_s - t->song_s - t->ui_s) / t->wall_s);
  report_number("each_kib", 0, memory_kib / k->n);
  report_number("song_pc", 1, 100 * t->song_s / t->wall_s);
  report_number("blocks", 0, t->n_blocks);
  report_number("late_blocks", 0, t->n_late_blocks);
  report_end_row();
}

static void
open_row(desk* k, uint32_t row)
{
  const song_row* const r = song_row_of(k->tracks, row);
  for (uint32_t i = 0; i < r->n; ++i) {
    desk_open(k, r->plugins[i], r->is_silent);
  }
}

/// A window alone: it pays what the processor takes to get going again, which
/// others share
static void
measure_alone(desk* k)
{
  report_section("alone", "A window that is the only one");
  for (uint32_t row = 0; row < 2; ++row) {
    const song_row* const r = song_row_of(k->tracks, row);
    desk_open(k, r->plugins[0], r->is_silent);
    (void)desk_serve(k, BEFORE_S);
    const totals t = desk_serve(k, SECONDS);
    report_views(k, &t);
    desk_close(k);
  }
}

/// Two whole rows, and sends and buses
static void
measure_rows(desk* k)
{
  open_row(k, 0);
  open_row(k, SONG_TRACKS);
  open_row(k, 1);
  open_row(k, SONG_TRACKS + 1);
  (void)desk_serve(k, BEFORE_S);
  const totals t = desk_serve(k, SECONDS);
  report_section("windows", "Windows of a silent track and of one that plays, "
                            "sends and buses, all open at once");
  report_views(k, &t);
  report_totals(k, &t, "rows", "These windows together");
  desk_close(k);
}

/// One window on each track, of one stage after the other
static void
measure_tracks(desk* k)
{
  for (uint32_t i = 0; i < SONG_TRACKS; ++i) {
    const song_row* const r = song_row_of(k->tracks, i);
    desk_open(k, r->plugins[i % r->n], r->is_silent);
  }
  (void)desk_serve(k, BEFORE_S);
  const totals t = desk_serve(k, SECONDS);
  report_totals(k, &t, "tracks", "One window on each track");
  desk_close(k);
}

// ---------------------------------------------------------------------------

static const LV2UI_Descriptor*
load(const char* module)
{
  void* const handle = dlopen(module, RTLD_NOW | RTLD_LOCAL);
  void* const symbol = handle ? dlsym(handle, "lv2ui_descriptor") : NULL;
  LV2UI_DescriptorFunction find = NULL;
  memcpy(&find, &symbol, sizeof(find)); // POSIX allows what ISO C does not
  const LV2UI_Descriptor* const d = find ? find(0) : NULL;
  if (!d) {
    desk_give_up("cannot load the module");
  }
  return d;
}

int
main(int argc, char** argv)
{
  static desk k;
  const bool  as_json = argc == 4 && !strcmp(argv[3], "--json");
  if (argc != 3 && !as_json) {
    fprintf(stderr, "usage: windows BUNDLE_FOLDER MODULE [--json]\n");
    return 2;
  }
  bench_bundle b = bench_open(argv[1]);
  bench_fill_input();
  k.bundle  = argv[1];
  k.d       = load(argv[2]);
  k.idler   = k.d->extension_data(LV2_UI__idleInterface);
  k.display = XOpenDisplay(NULL);
  if (!k.display) {
    desk_give_up("cannot open a display; is DISPLAY set?");
  }
  song* const tracks = song_start(&b);
  k.tracks           = tracks;
  open_row(&k, 2); // Fonts are loaded once
  desk_close(&k);
  report_open(as_json);
  measure_alone(&k);
  measure_rows(&k);
  measure_tracks(&k);
  report_close();
  song_stop(tracks);
  XCloseDisplay(k.display);
  bench_close(&b);
  return 0;
}
