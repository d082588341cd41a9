// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Cost of windows while a song of 64 tracks plays (song.h), on the display
/// that DISPLAY names: what each takes of a core, how many pictures a second
/// are kept, and its memory.  One thread serves all windows, 30 times a second,
/// as a host's does.

#include "report.h"
#include "song.h"

#include <lv2/ui/ui.h>

#include <X11/Xlib.h>
#include <dlfcn.h>
#include <malloc.h>
#include <stdatomic.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

enum {
  HZ        = 30, ///< So often hosts call
  BEFORE_S  = 6,  ///< Not measured: opening, and meters that fall
  SECONDS   = 20,
  MOST      = 64,
  COLUMNS   = 8,
  COLUMN_PX = 780,
  LINE_PX   = 500,
};

// Budgets of one window, in % of a core and ms; see DEVELOPERS.md
#define PLAYING_PC 1.0
#define SILENT_PC  0.1
#define AT_ONCE_MS 10.0

typedef struct {
  song_plugin* of;
  LV2UI_Handle ui;
  bool         is_silent;
  float        sent[BENCH_MAX_PORTS];
  double       spent_s, most_s;
  double       memory_kib;
} view;

typedef struct {
  const LV2UI_Descriptor*     d;
  const LV2UI_Idle_Interface* idler;
  const char*                 bundle;
  const song*                 tracks;
  Display*                    display;
  view                        views[MOST];
  uint32_t                    n;
} desk;

/// What all windows together did
typedef struct {
  double   wall_s, ui_s, all_s, song_s;
  double   most_s; ///< The busiest turn
  uint32_t n_turns, n_late;
  uint32_t n_blocks, n_late_blocks;
} totals;

static void
give_up(const char* what)
{
  fprintf(stderr, "windows: %s\n", what);
  exit(1);
}

static double
clock_s(clockid_t id)
{
  struct timespec t;
  (void)clock_gettime(id, &t);
  return (double)t.tv_sec + 1e-9 * (double)t.tv_nsec;
}

static double
heap_kib(void)
{
  const struct mallinfo2 m = mallinfo2();
  return (double)(m.uordblks + m.hblkhd) / 1024.0;
}

// ---------------------------------------------------------------------------
// Windows

static void
on_write(LV2UI_Controller controller,
         uint32_t         port,
         uint32_t         size,
         uint32_t         protocol,
         const void*      value)
{
  song_plugin* const p = controller;
  float              x = 0;
  if (protocol == 0 && port < p->n_params && size == sizeof(x)) {
    memcpy(&x, value, sizeof(x));
    atomic_store(&p->port[port], x);
  }
}

/// Side by side: a window that another covers draws nothing
static void
open_view(desk* k, song_plugin* p, bool is_silent)
{
  view* const  v      = &k->views[k->n];
  LV2UI_Widget widget = NULL;
  const double before = heap_kib();
  *v                  = (view){.of = p, .is_silent = is_silent};
  v->ui = k->d->instantiate(k->d, p->s.form.uri, k->bundle, on_write, p,
                            &widget, NULL);
  if (!v->ui) {
    give_up("cannot open a window");
  }
  v->memory_kib = heap_kib() - before;
  XMoveWindow(k->display, (Window)widget, (int)(k->n % COLUMNS) * COLUMN_PX,
              (int)(k->n / COLUMNS) * LINE_PX);
  XSync(k->display, False);
  for (uint32_t i = 0; i < p->n_ports; ++i) {
    v->sent[i] = NAN; // None is
  }
  ++k->n;
}

static void
close_views(desk* k)
{
  while (k->n) {
    k->d->cleanup(k->views[--k->n].ui);
  }
}

/// A host's turn: all meters, and controls that moved
static void
serve(const desk* k, view* v)
{
  for (uint32_t i = 0; i < v->of->n_ports; ++i) {
    const float x = atomic_load_explicit(&v->of->port[i], memory_order_relaxed);
    if (x != v->sent[i] || i >= v->of->n_params) {
      v->sent[i] = x;
      k->d->port_event(v->ui, i, sizeof(x), 0, &x);
    }
  }
  if (k->idler->idle(v->ui)) {
    give_up("a window has closed");
  }
}

/// Serves all; returns the processor time without that of the clock
static double
serve_all(desk* k)
{
  const double from_s       = clock_s(CLOCK_THREAD_CPUTIME_ID);
  double       last_s       = clock_s(CLOCK_THREAD_CPUTIME_ID);
  const double clock_took_s = last_s - from_s;
  double       sum_s        = 0;
  for (uint32_t i = 0; i < k->n; ++i) {
    view* const v = &k->views[i];
    serve(k, v);
    const double now_s  = clock_s(CLOCK_THREAD_CPUTIME_ID);
    const double took_s = fmax(now_s - last_s - clock_took_s, 0);
    last_s              = now_s;
    v->spent_s += took_s;
    v->most_s = fmax(v->most_s, took_s);
    sum_s += took_s;
  }
  return sum_s;
}

/// Waits for the next turn; returns when that is.  Turns that were missed stay
/// so.
static double
wait_for_turn(totals* t, double due_s)
{
  if (clock_s(CLOCK_MONOTONIC) > due_s) {
    ++t->n_late;
  }
  while (clock_s(CLOCK_MONOTONIC) > due_s) {
    due_s += 1.0 / HZ;
  }
  const struct timespec until = {(time_t)due_s,
                                 (long)(1e9 * (due_s - (double)(time_t)due_s))};
  (void)clock_nanosleep(CLOCK_MONOTONIC, TIMER_ABSTIME, &until, NULL);
  return due_s + 1.0 / HZ;
}

static totals
serve_for(desk* k, int seconds)
{
  totals t = {0};
  for (uint32_t i = 0; i < k->n; ++i) {
    k->views[i].spent_s = k->views[i].most_s = 0;
  }
  t.n_blocks             = song_blocks(k->tracks, &t.n_late_blocks);
  const uint32_t late    = t.n_late_blocks;
  const double   begin_s = clock_s(CLOCK_MONOTONIC);
  const double   all_s   = clock_s(CLOCK_PROCESS_CPUTIME_ID);
  const double   song_s  = song_cpu_s(k->tracks);
  double         due_s   = begin_s + 1.0 / HZ;
  while (due_s < begin_s + seconds) {
    const double took_s = serve_all(k);
    t.ui_s += took_s;
    t.most_s = fmax(t.most_s, took_s);
    ++t.n_turns;
    due_s = wait_for_turn(&t, due_s);
  }
  t.wall_s   = clock_s(CLOCK_MONOTONIC) - begin_s;
  t.all_s    = clock_s(CLOCK_PROCESS_CPUTIME_ID) - all_s;
  t.song_s   = song_cpu_s(k->tracks) - song_s;
  t.n_blocks = song_blocks(k->tracks, &t.n_late_blocks) - t.n_blocks;
  t.n_late_blocks -= late;
  return t;
}

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
  report_number("of_turn_pc", 1, 100 * HZ * t->ui_s / t->n_turns);
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
    open_view(k, r->plugins[i], r->is_silent);
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
    open_view(k, r->plugins[0], r->is_silent);
    (void)serve_for(k, BEFORE_S);
    const totals t = serve_for(k, SECONDS);
    report_views(k, &t);
    close_views(k);
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
  (void)serve_for(k, BEFORE_S);
  const totals t = serve_for(k, SECONDS);
  report_section("windows", "Windows of a silent track and of one that plays, "
                            "sends and buses, all open at once");
  report_views(k, &t);
  report_totals(k, &t, "rows", "These windows together");
  close_views(k);
}

/// One window on each track, of one stage after the other
static void
measure_tracks(desk* k)
{
  for (uint32_t i = 0; i < SONG_TRACKS; ++i) {
    const song_row* const r = song_row_of(k->tracks, i);
    open_view(k, r->plugins[i % r->n], r->is_silent);
  }
  (void)serve_for(k, BEFORE_S);
  const totals t = serve_for(k, SECONDS);
  report_totals(k, &t, "tracks", "One window on each track");
  close_views(k);
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
    give_up("cannot load the module");
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
    give_up("cannot open a display; is DISPLAY set?");
  }
  song* const tracks = song_start(&b);
  k.tracks           = tracks;
  open_row(&k, 2); // Fonts are loaded once
  close_views(&k);
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
