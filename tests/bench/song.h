// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// A song that plays in real time, without sound, for windows to look at: 64
/// mono tracks with all track stages each, the first silent, and the sends and
/// buses twice, once with a signal and once without.

#ifndef TESTS_BENCH_SONG_H
#define TESTS_BENCH_SONG_H

#include "bench.h"

enum {
  SONG_TRACKS  = 64,
  SONG_THREADS = 2,
  SONG_BLOCK   = 512, ///< Frames
  SONG_ENDS    = 2,   ///< Rows of sends and buses: silent, and with a signal
  SONG_ROWS    = SONG_TRACKS + SONG_ENDS,
};

/// One plugin, and its ports as its window may see and write them
typedef struct {
  subject       s;
  uint32_t      n_params, n_ports;
  _Atomic float port[BENCH_MAX_PORTS];
} song_plugin;

typedef struct {
  uint32_t     n;
  song_plugin* plugins[CHAIN_MAX_STAGES];
  bool         is_silent;
  bool         is_series; ///< Else each hears the input
} song_row;

typedef struct song song;

/// Loads the plugins and begins to play; exits with a message if it cannot
song*
song_start(const bench_bundle* b);

void
song_stop(song* s);

/// Row 0 is the silent track, row SONG_TRACKS the silent sends and buses
const song_row*
song_row_of(const song* s, uint32_t row);

/// Returns the processor time of all plugins since the beginning
double
song_cpu_s(const song* s);

/// Returns how many blocks have been played, of all threads, and how many of
/// them came late
uint32_t
song_blocks(const song* s, uint32_t* n_late);

#endif // TESTS_BENCH_SONG_H
