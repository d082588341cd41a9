// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "listen_choice.h"

#include "presets-demo/render/audio/audio_in.h"
#include "presets-demo/render/audio/level_meter.h"
#include "presets-demo/render/program/alloc.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define READ_FRAMES 8192U

/// Playing is what lies less far below the loudest step: a note that decays by
/// more is nearly gone (common practice)
#define PLAYING_DB 30.0

/// A rise from one step to the next that only a stroke makes
#define STROKE_DB 6.0

/// Difference of soft and hard that counts as much as playing all the time
#define SPREAD_DB 20.0

/// Steps softer and harder than these shares of the playing do not count
#define SOFT_SHARE 0.1
#define HARD_SHARE 0.9

void
listen_levels_clear(listen_levels* l)
{
  free(l->power);
  *l = (listen_levels){.n = 0};
}

/// Appends the complete steps of what has been read
static void
add_frames(listen_levels*      l,
           const float* const* x,
           audio_in_info       info,
           uint64_t            at,
           uint32_t            n)
{
  const double   step    = LISTEN_STEP_S * info.rate_hz;
  const uint32_t n_steps = (uint32_t)((double)(at + n) / step) + 1;
  if (n_steps > l->n) {
    l->power = alloc_grow(l->power, n_steps, sizeof(double));
    memset(l->power + l->n, 0, (n_steps - l->n) * sizeof(double));
    l->n = n_steps;
  }
  const double share = 1.0 / (step * info.n_channels);
  for (uint32_t i = 0; i < n; ++i) {
    double* const sum = &l->power[(uint32_t)((double)(at + i) / step)];
    for (uint32_t k = 0; k < info.n_channels && k < AUDIO_MAX_CHANNELS; ++k) {
      *sum += share * (double)x[k][i] * (double)x[k][i];
    }
  }
}

bool
listen_levels_read(listen_levels*               l,
                   const char*                  file,
                   const audio_mend*            mend,
                   const volatile sig_atomic_t* stop,
                   failure*                     f)
{
  audio_in* const in = audio_in_open_mended(file, 0.0, mend, f);
  if (!in) {
    return false;
  }
  float* const x[] = {alloc_new(READ_FRAMES, sizeof(float)),
                      alloc_new(READ_FRAMES, sizeof(float))};
  uint64_t     at  = 0;
  int64_t      got = READ_FRAMES;
  while (got == READ_FRAMES && !*stop) {
    got = audio_in_read(in, x, READ_FRAMES, f);
    if (got > 0) {
      add_frames(l, (const float* const*)x, audio_in_get_info(in), at,
                 (uint32_t)got);
      at += (uint64_t)got;
    }
  }
  free(x[0]);
  free(x[1]);
  audio_in_close(in);
  return got >= 0 && (!*stop || fail_with(f, "%s", ""));
}

void
listen_levels_add(listen_levels* l, const listen_levels* other)
{
  if (other->n > l->n) {
    l->power = alloc_grow(l->power, other->n, sizeof(double));
    memset(l->power + l->n, 0, (other->n - l->n) * sizeof(double));
    l->n = other->n;
  }
  for (uint32_t i = 0; i < other->n; ++i) {
    l->power[i] += other->power[i];
  }
}

static int
compare(const void* a, const void* b)
{
  const double x = *(const double*)a;
  const double y = *(const double*)b;
  return (x > y) - (x < y);
}

/// Returns how much a stretch tells: the share that is played, and the spread
/// of its levels.  `work` has room for the stretch.
static double
worth(const double* db, uint32_t length, double floor_db, double* work)
{
  uint32_t n = 0;
  for (uint32_t i = 0; i < length; ++i) {
    if (db[i] >= floor_db) {
      work[n++] = db[i];
    }
  }
  if (!n) {
    return 0.0;
  }
  qsort(work, n, sizeof(*work), compare);
  const double soft   = work[(uint32_t)(SOFT_SHARE * (n - 1))];
  const double hard   = work[(uint32_t)(HARD_SHARE * (n - 1))];
  const double spread = fmin((hard - soft) / SPREAD_DB, 1.0);
  return (1.0 + spread) * (double)n / length;
}

uint32_t
listen_choice(const listen_levels* l, uint32_t length)
{
  if (l->n <= length) {
    return 0;
  }
  double* const db   = alloc_new(l->n, sizeof(double));
  double* const work = alloc_new(length, sizeof(double));
  double        top  = -(double)INFINITY;
  for (uint32_t i = 0; i < l->n; ++i) {
    db[i] = fmax(level_power_db(l->power[i]), LEVEL_GATE_DBFS);
    top   = fmax(top, db[i]);
  }
  uint32_t best       = 0;
  double   best_worth = worth(db, length, top - PLAYING_DB, work);
  for (uint32_t i = 0; i + length < l->n; ++i) {
    if (db[i + 1] - db[i] >= STROKE_DB) {
      const double now = worth(db + i, length, top - PLAYING_DB, work);
      if (now > best_worth) {
        best       = i;
        best_worth = now;
      }
    }
  }
  free(work);
  free(db);
  return best;
}
