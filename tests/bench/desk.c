// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "desk.h"

#include "clock.h"

#include <malloc.h>
#include <stdatomic.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/// Places of windows on the screen
enum { COLUMNS = 8, COLUMN_PX = 780, LINE_PX = 500 };

void
desk_give_up(const char* what)
{
  fprintf(stderr, "windows: %s\n", what);
  exit(1);
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

void
desk_open(desk* k, song_plugin* p, bool is_silent)
{
  view* const  v      = &k->views[k->n];
  LV2UI_Widget widget = NULL;
  const double before = heap_kib();
  *v                  = (view){.of = p, .is_silent = is_silent};
  v->ui = k->d->instantiate(k->d, p->s.form.uri, k->bundle, on_write, p,
                            &widget, NULL);
  if (!v->ui) {
    desk_give_up("cannot open a window");
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

void
desk_close(desk* k)
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
    desk_give_up("a window has closed");
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
    due_s += 1.0 / DESK_HZ;
  }
  clock_sleep_until(due_s);
  return due_s + 1.0 / DESK_HZ;
}

totals
desk_serve(desk* k, int seconds)
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
  double         due_s   = begin_s + 1.0 / DESK_HZ;
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
