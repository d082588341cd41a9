// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Windows on plugins of a song, side by side on a display, and a host's thread
/// that serves them

#ifndef TESTS_BENCH_DESK_H
#define TESTS_BENCH_DESK_H

#include "song.h"

#include <lv2/ui/ui.h>

#include <X11/Xlib.h>

enum {
  DESK_HZ   = 30, ///< So often hosts call
  DESK_MOST = 64,
};

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
  view                        views[DESK_MOST];
  uint32_t                    n;
} desk;

/// What all windows together did
typedef struct {
  double   wall_s, ui_s, all_s, song_s;
  double   most_s; ///< The busiest turn
  uint32_t n_turns, n_late;
  uint32_t n_blocks, n_late_blocks;
} totals;

/// Says what is wrong, and exits
_Noreturn void
desk_give_up(const char* what);

/// Opens a window beside the others: one that another covers draws nothing
void
desk_open(desk* k, song_plugin* p, bool is_silent);

/// Closes all
void
desk_close(desk* k);

/// Serves all windows for so long; what is spent is counted anew
totals
desk_serve(desk* k, int seconds);

#endif // TESTS_BENCH_DESK_H
