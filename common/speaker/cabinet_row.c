// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "cabinet_row.h"

#include "common/core/fastmath.h"

#include <string.h>

// Only functions that are always inlined take vectors: how these would be
// passed does not matter
#pragma GCC diagnostic ignored "-Wpsabi"

#define INLINE static inline __attribute__((always_inline))

#define LANES 4

// Registers of one channel (the last two lanes idle) and of both
#define RANKS_MONO   3
#define RANKS_STEREO 5

_Static_assert(RANKS_MONO* LANES == CABINET_LANES, "Sections of a channel");
_Static_assert(RANKS_STEREO* LANES == 2 * CABINET_SECTIONS, "Of both");

/// Sections side by side
typedef struct {
  f64x4 q[CABINET_N]; ///< Coefficients
  f64x4 m[2];
  f64x4 y; ///< The last outputs
} rank;

/// `n_channels` is known to the compiler in all that follows
typedef struct {
  rank   r[RANKS_STEREO];
  f64x4  step[CABINET_N];   ///< Of the last rank, the low-pass
  double share, share_step; ///< Of the presence bell's effect
} row;

INLINE int
ranks(int n_channels)
{
  return n_channels == 1 ? RANKS_MONO : RANKS_STEREO;
}

/// Sections in a rank
INLINE int
abreast(int n_channels)
{
  return LANES / n_channels;
}

// The presence bell comes last in its rank, the low-pass follows
INLINE int
bell(int n_channels)
{
  return CABINET_PRESENCE / abreast(n_channels);
}

INLINE int
low_pass(int n_channels)
{
  return ranks(n_channels) - 1;
}

_Static_assert(CABINET_PRESENCE == 7 && CABINET_LOW_PASS_1 == 8,
               "bell(), low_pass()");

/// Frames by which the first lane of rank k is behind: the last section of a
/// rank and the first of the next one take the same frame
INLINE int
lag(int k, int n_channels)
{
  return k * (abreast(n_channels) - 1);
}

/// Frames on their way: the second section of the low-pass is the last
INLINE int
row_lag(int n_channels)
{
  return lag(low_pass(n_channels), n_channels) + 1;
}

/// The same of the last section of rank k
INLINE int
last_lag(int k, int n_channels)
{
  return k == low_pass(n_channels) ? row_lag(n_channels)
                                   : lag(k + 1, n_channels);
}

// ---------------------------------------------------------------------------
// Into registers and out of them

/// Puts rank k of what lies in `a`, for the channels, into the lanes of v
INLINE void
take(f64x4* v, const double* a, const double* b, int k, int n_channels)
{
  const int at = k * abreast(n_channels);
  if (n_channels == 1) {
    memcpy(v, a + at, sizeof(*v));
  } else {
    *v = (f64x4){a[at], b[at], a[at + 1], b[at + 1]};
  }
}

INLINE void
give(const f64x4* v, double* a, double* b, int k, int n_channels)
{
  const int at = k * abreast(n_channels);
  if (n_channels == 1) {
    memcpy(a + at, v, sizeof(*v));
  } else {
    a[at]     = (*v)[0];
    b[at]     = (*v)[1];
    a[at + 1] = (*v)[2];
    b[at + 1] = (*v)[3];
  }
}

INLINE void
take_filters(f64x4* q, const cabinet_filters* f, int k, int n_channels)
{
  for (int i = 0; i < CABINET_N; ++i) {
    take(&q[i], f->of[i], f->of[i], k, n_channels);
  }
}

INLINE void
give_filters(const f64x4* q, cabinet_filters* f, int k, int n_channels)
{
  double other[CABINET_LANES]; // The same again
  for (int i = 0; i < CABINET_N; ++i) {
    give(&q[i], f->of[i], other, k, n_channels);
  }
}

INLINE void
row_load(row* p, const cabinet* c, int n_channels)
{
  for (int k = 0; k < ranks(n_channels); ++k) {
    rank* const r = &p->r[k];
    take_filters(r->q, &c->now, k, n_channels);
    for (int i = 0; i < 2; ++i) {
      take(&r->m[i], c->memory[i][0], c->memory[i][1], k, n_channels);
    }
    r->y = (f64x4){0.0, 0.0, 0.0, 0.0};
  }
  take_filters(p->step, &c->step, low_pass(n_channels), n_channels);
  p->share      = c->share;
  p->share_step = c->share_step;
}

INLINE void
row_store(const row* p, cabinet* c, int n_channels)
{
  const int last = low_pass(n_channels);
  for (int k = 0; k < ranks(n_channels); ++k) {
    for (int i = 0; i < 2; ++i) {
      give(&p->r[k].m[i], c->memory[i][0], c->memory[i][1], k, n_channels);
    }
  }
  give_filters(p->r[last].q, &c->now, last, n_channels);
  c->share = p->share;
}

// ---------------------------------------------------------------------------
// Frame by frame

/// Runs all sections of a rank, the first of them on the last lanes of x, in
/// whose place the last one's output comes
INLINE void
rank_next(rank* r, f64x4* x, bool is_low_pass, int n_channels)
{
  const f64x4* const q = r->q;
  const f64x4        v = n_channels == 1
                           ? __builtin_shufflevector(*x, r->y, 3, 4, 5, 6)
                           : __builtin_shufflevector(*x, r->y, 2, 3, 4, 5);

  r->y    = q[CABINET_B0] * v + r->m[0];
  r->m[0] = (q[CABINET_B1] * v + r->m[1]) - q[CABINET_A1] * r->y;
  r->m[1] = is_low_pass ? -q[CABINET_A2] * r->y
                        : q[CABINET_B2] * v - q[CABINET_A2] * r->y;
  *x      = v;
}

INLINE void
hold(f64x4* x, const f64x4* before, const i64x4* held)
{
  *x = (f64x4)(((i64x4)*x & ~*held) | ((i64x4)*before & *held));
}

/// Undoes what sections did whose lag in the rank is not in `from` to `to`
INLINE void
rank_hold(rank* r, const rank* before, int n_channels, int from, int to)
{
  const i64x4 behind =
    n_channels == 1 ? (i64x4){0, 1, 2, 3} : (i64x4){0, 0, 1, 1};
  const i64x4 held = (behind < from) | (behind > to);
  hold(&r->m[0], &before->m[0], &held);
  hold(&r->m[1], &before->m[1], &held);
  for (int i = 0; i < CABINET_N; ++i) {
    hold(&r->q[i], &before->q[i], &held);
  }
}

/// Takes a frame from the last lanes of x into the row, in which sections run
/// whose lag is from `from` to `to`, which the compiler knows; the others wait
INLINE void
row_next(row* p, f64x4* x, int n_channels, int from, int to)
{
#pragma GCC unroll 5
  for (int k = 0; k < ranks(n_channels); ++k) {
    const int   first = lag(k, n_channels);
    const int   last  = last_lag(k, n_channels);
    rank* const r     = &p->r[k];
    const rank  was   = *r;
    if (last < from || first > to) {
      continue;
    }
    rank_next(r, x, k == low_pass(n_channels), n_channels);
    if (k == low_pass(n_channels)) {
      for (int i = 0; i < CABINET_N; ++i) {
        r->q[i] += p->step[i];
      }
    }
    if (first < from || last > to) {
      rank_hold(r, &was, n_channels, from - first, to - first);
    }
    *x = k == bell(n_channels) ? *x + p->share * (r->y - *x) : r->y;
  }
  const int at_bell = lag(low_pass(n_channels), n_channels);
  if (from <= at_bell && at_bell <= to) {
    p->share += p->share_step;
  }
}

// ---------------------------------------------------------------------------

/// Converts a whole vector: one float would leave the rest of its register, and
/// so wait for what was there
INLINE void
row_in(const float* const* in, f64x4* x, int n_channels, int i)
{
  const float a = in[0][i];
  const float b = in[n_channels - 1][i];
  *x            = __builtin_convertvector(((f32x4){a, b, a, b}), f64x4);
}

INLINE void
row_out(const row* p, float* const* out, int n_channels, int i)
{
  const f64x4 y = p->r[low_pass(n_channels)].y;
  out[0][i]     = (float)(n_channels == 1 ? y[1] : y[2]);
  if (n_channels == 2) {
    out[1][i] = (float)y[3];
  }
}

/// Runs more frames than are on their way
INLINE void
run_row(cabinet*            c,
        const float* const* in,
        float* const*       out,
        int                 n_channels,
        int                 n)
{
  const int late = row_lag(n_channels);
  f64x4     x;
  row       p;
  row_load(&p, c, n_channels);
#pragma GCC unroll 7
  for (int i = 0; i < late; ++i) {
    row_in(in, &x, n_channels, i);
    row_next(&p, &x, n_channels, 0, i);
  }
  for (int i = late; i < n; ++i) {
    row_in(in, &x, n_channels, i);
    row_next(&p, &x, n_channels, 0, late);
    row_out(&p, out, n_channels, i - late);
  }
#pragma GCC unroll 7
  for (int i = 0; i < late; ++i) {
    row_next(&p, &x, n_channels, i + 1, late);
    row_out(&p, out, n_channels, n - late + i);
  }
  row_store(&p, c, n_channels);
}

WIDE_CLONES static void
run_mono(cabinet* c, const float* const* in, float* const* out, int n)
{
  run_row(c, in, out, 1, n);
}

WIDE_CLONES static void
run_stereo(cabinet* c, const float* const* in, float* const* out, int n)
{
  run_row(c, in, out, 2, n);
}

uint32_t
cabinet_row_least(uint32_t n_channels)
{
  return (uint32_t)row_lag((int)n_channels) + 1U;
}

void
cabinet_row_run(cabinet*            c,
                const float* const* in,
                float* const*       out,
                uint32_t            n_channels,
                uint32_t            n)
{
  if (n_channels == 1) {
    run_mono(c, in, out, (int)n);
  } else {
    run_stereo(c, in, out, (int)n);
  }
}
