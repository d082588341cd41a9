// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "song.h"

#include "clock.h"

#include <pthread.h>
#include <stdatomic.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

typedef struct {
  song*             of;
  uint32_t          first; ///< It plays each SONG_THREADS-th row from here
  pthread_t         thread;
  _Atomic double    cpu_s;
  _Atomic(uint32_t) n_blocks, n_late;
} player;

struct song {
  song_row    rows[SONG_ROWS];
  player      players[SONG_THREADS];
  atomic_bool is_over;
};

static void*
need(void* memory)
{
  if (!memory) {
    fprintf(stderr, "bench: no memory\n");
    exit(1);
  }
  return memory;
}

static void
add_plugin(song_row* row, const bench_bundle* b, const plugin* p, uint32_t form)
{
  if (row->n == CHAIN_MAX_STAGES) {
    fprintf(stderr, "bench: more plugins than CHAIN_MAX_STAGES\n");
    exit(1);
  }
  song_plugin* const to = need(calloc(1, sizeof(*to)));
  subject_open(&to->s, b, p, form, BENCH_RATE_HZ);
  to->n_params = shell_param_count(p);
  to->n_ports  = to->n_params + shell_meter_count(p);
  for (uint32_t i = 0; i < to->n_ports; ++i) {
    atomic_store(&to->port[i], to->s.control[i]);
  }
  row->plugins[row->n++] = to;
}

static void
fill_row(song_row* row, const bench_bundle* b, bool is_track, bool is_silent)
{
  const plugin* p = NULL;
  row->is_series  = is_track;
  row->is_silent  = is_silent;
  for (uint32_t i = 0; (p = shell_plugin(i)); ++i) {
    if ((p->forms == FORMS_TRACK) == is_track) {
      add_plugin(row, b, p, 0);
    }
  }
}

// ---------------------------------------------------------------------------
// Playing

/// What a window wrote goes in, what it is to show comes out
static void
run_plugin(song_plugin* p, const float* const* in, float* const* out)
{
  for (uint32_t i = 0; i < p->n_params; ++i) {
    p->s.control[i] = atomic_load_explicit(&p->port[i], memory_order_relaxed);
  }
  subject_run(&p->s, in, out, SONG_BLOCK);
  for (uint32_t i = p->n_params; i < p->n_ports; ++i) {
    atomic_store_explicit(&p->port[i], p->s.control[i], memory_order_relaxed);
  }
}

static void
run_row(const song_row* row, uint32_t at)
{
  static const float silence[SONG_BLOCK];
  float              x[MAX_CHANNELS][SONG_BLOCK];
  float* const       out[] = {x[0], x[1]};
  for (uint32_t i = 0; i < row->n; ++i) {
    const float* in[MAX_CHANNELS];
    for (uint32_t k = 0; k < MAX_CHANNELS; ++k) {
      in[k] = row->is_series && i > 0 ? x[k]
              : row->is_silent        ? silence
                                      : bench_input[k] + at;
    }
    run_plugin(row->plugins[i], in, out);
  }
}

/// Waits for the next block; returns when that is due
static double
wait_for_block(player* p, double due_s)
{
  const double now_s = clock_s(CLOCK_MONOTONIC);
  atomic_store(&p->cpu_s, clock_s(CLOCK_THREAD_CPUTIME_ID));
  atomic_fetch_add(&p->n_blocks, 1);
  if (now_s > due_s) {
    atomic_fetch_add(&p->n_late, 1);
    due_s = now_s;
  }
  clock_sleep_until(due_s);
  return due_s + SONG_BLOCK / BENCH_RATE_HZ;
}

static void*
play(void* argument)
{
  player* const p     = argument;
  double        due_s = clock_s(CLOCK_MONOTONIC) + SONG_BLOCK / BENCH_RATE_HZ;
  for (uint32_t n = 0; !atomic_load(&p->of->is_over); ++n) {
    for (uint32_t i = p->first; i < SONG_ROWS; i += SONG_THREADS) {
      // No two tracks play the same at once
      const uint32_t block = (n + 3 * i) % (BENCH_FRAMES / SONG_BLOCK);
      run_row(&p->of->rows[i], block * SONG_BLOCK);
    }
    due_s = wait_for_block(p, due_s);
  }
  return NULL;
}

song*
song_start(const bench_bundle* b)
{
  song* const s = need(calloc(1, sizeof(*s)));
  for (uint32_t i = 0; i < SONG_ROWS; ++i) {
    fill_row(&s->rows[i], b, i < SONG_TRACKS, i == 0 || i == SONG_TRACKS);
  }
  for (uint32_t i = 0; i < SONG_THREADS; ++i) {
    player* const p = &s->players[i];
    p->of           = s;
    p->first        = i;
    if (pthread_create(&p->thread, NULL, play, p)) {
      fprintf(stderr, "bench: cannot start a thread\n");
      exit(1);
    }
  }
  return s;
}

void
song_stop(song* s)
{
  atomic_store(&s->is_over, true);
  for (uint32_t i = 0; i < SONG_THREADS; ++i) {
    pthread_join(s->players[i].thread, NULL);
  }
  for (uint32_t i = 0; i < SONG_ROWS; ++i) {
    for (uint32_t k = 0; k < s->rows[i].n; ++k) {
      subject_close(&s->rows[i].plugins[k]->s);
      free(s->rows[i].plugins[k]);
    }
  }
  free(s);
}

const song_row*
song_row_of(const song* s, uint32_t row)
{
  return &s->rows[row];
}

double
song_cpu_s(const song* s)
{
  double sum_s = 0;
  for (uint32_t i = 0; i < SONG_THREADS; ++i) {
    sum_s += atomic_load(&s->players[i].cpu_s);
  }
  return sum_s;
}

uint32_t
song_blocks(const song* s, uint32_t* n_late)
{
  uint32_t n = 0;
  *n_late    = 0;
  for (uint32_t i = 0; i < SONG_THREADS; ++i) {
    n += atomic_load(&s->players[i].n_blocks);
    *n_late += atomic_load(&s->players[i].n_late);
  }
  return n;
}
