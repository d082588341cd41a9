// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "fdn.h"

#include <assert.h>
#include <string.h>

uint32_t
fdn_prime_from(uint32_t n)
{
  for (uint32_t m = n < 3U ? 3U : n | 1U;; m += 2) {
    uint32_t d = 3;
    while (d * d <= m && m % d) {
      d += 2;
    }
    if (d * d > m) {
      return m;
    }
  }
}

void
fdn_set_line(fdn* f, uint32_t i, float* memory, uint32_t length)
{
  assert(length >= FDN_MIN_FRAMES);
  f->line[i]   = memory;
  f->length[i] = length;
  f->at[i]     = 0;
  memset(memory, 0, length * sizeof(float));
}

uint32_t
fdn_frames(const fdn* f)
{
  uint32_t sum = 0;
  for (uint32_t i = 0; i < FDN_LINES; ++i) {
    sum += f->length[i];
  }
  return sum;
}

void
fdn_reset(fdn* f)
{
  for (uint32_t i = 0; i < FDN_LINES; ++i) {
    memset(f->line[i], 0, f->length[i] * sizeof(float));
    f->at[i] = 0;
  }
  memset(f->low, 0, sizeof(f->low));
  memset(f->high, 0, sizeof(f->high));
}

// ---------------------------------------------------------------------------
// Losses

static void
losses_of(const fdn* f, const decay_law* law, fdn_losses* losses)
{
  const absorption_warp w = absorption_warp_of(law, f->rate_hz);
  for (uint32_t i = 0; i < FDN_LINES; ++i) {
    const absorption a = absorption_of(law, w, f->length[i] / f->rate_hz);
    const uint32_t   g = i / 4;
    const uint32_t   k = i % 4;
    // A quarter, because the butterflies leave out what makes them orthogonal
    losses->low_d[g][k]  = (float)(0.25 * a.low_d);
    losses->low_c[g][k]  = (float)(0.25 * a.low_c);
    losses->low_p[g][k]  = (float)a.low_p;
    losses->high_d[g][k] = (float)a.high_d;
    losses->high_c[g][k] = (float)a.high_c;
    losses->high_p[g][k] = (float)a.high_p;
  }
}

void
fdn_snap_decay(fdn* f, const decay_law* law, double rate_hz)
{
  f->rate_hz = rate_hz;
  losses_of(f, law, &f->to);
  f->now    = f->to;
  f->moving = false;
}

void
fdn_push_decay(fdn* f, const decay_law* law)
{
  f->now = f->to; // Without what the steps rounded
  losses_of(f, law, &f->to);
  f->moving = false;

  const f32x4* const from = (const f32x4*)&f->now;
  const f32x4* const to   = (const f32x4*)&f->to;
  f32x4* const       step = (f32x4*)&f->step;
  for (uint32_t i = 0; i < sizeof(fdn_losses) / sizeof(f32x4); ++i) {
    step[i] = (to[i] - from[i]) * (1.0f / CONTROL_FRAMES);
    for (uint32_t k = 0; k < 4; ++k) {
      f->moving = f->moving || step[i][k] != 0.0f;
    }
  }
}

/// A 4 by 4 block turned over: lines to lanes, and back
static inline void
transpose(f32x4* v)
{
  const f32x4 a = __builtin_shufflevector(v[0], v[1], 0, 4, 1, 5);
  const f32x4 b = __builtin_shufflevector(v[2], v[3], 0, 4, 1, 5);
  const f32x4 c = __builtin_shufflevector(v[0], v[1], 2, 6, 3, 7);
  const f32x4 d = __builtin_shufflevector(v[2], v[3], 2, 6, 3, 7);
  v[0]          = __builtin_shufflevector(a, b, 0, 1, 4, 5);
  v[1]          = __builtin_shufflevector(a, b, 2, 3, 6, 7);
  v[2]          = __builtin_shufflevector(c, d, 0, 1, 4, 5);
  v[3]          = __builtin_shufflevector(c, d, 2, 3, 6, 7);
}

/// Losses of four lines, in registers
typedef struct {
  f32x4 low_d, low_c, low_p, high_d, high_c, high_p;
} group_losses;

static inline group_losses
group_of(const fdn_losses* l, uint32_t g)
{
  return (group_losses){l->low_d[g],
                        l->low_c[g],
                        l->low_p[g],
                        l->high_d[g],
                        l->high_c[g],
                        l->high_p[g]};
}

static inline void
group_step(group_losses* l, const group_losses* step)
{
  l->low_d += step->low_d;
  l->low_c += step->low_c;
  l->low_p += step->low_p;
  l->high_d += step->high_d;
  l->high_c += step->high_c;
  l->high_p += step->high_p;
}

static inline f32x4
lose(const group_losses* l, f32x4* low, f32x4* high, f32x4 x)
{
  const f32x4 y = l->low_d * x + *low;
  *low          = l->low_p * *low + l->low_c * x;
  const f32x4 z = l->high_d * y + *high;
  *high         = l->high_p * *high + l->high_c * y;
  return z;
}

/// From the lines to `x`.  Two groups side by side: one alone would wait for
/// its own results.
static inline __attribute__((always_inline)) void
lose_pair(fdn*                f,
          uint32_t            g,
          const float* const* oldest,
          fdn_block           x,
          uint32_t            n,
          bool                moving)
{
  group_losses       a      = group_of(&f->now, g);
  group_losses       b      = group_of(&f->now, g + 1);
  const group_losses a_step = group_of(&f->step, g);
  const group_losses b_step = group_of(&f->step, g + 1);

  f32x4 a_low  = f->low[g];
  f32x4 a_high = f->high[g];
  f32x4 b_low  = f->low[g + 1];
  f32x4 b_high = f->high[g + 1];
  for (uint32_t t = 0; t < n; t += 4) {
    f32x4 va[4];
    f32x4 vb[4];
    for (uint32_t i = 0; i < 4; ++i) {
      memcpy(&va[i], oldest[4 * g + i] + t, sizeof(f32x4));
      memcpy(&vb[i], oldest[4 * g + 4 + i] + t, sizeof(f32x4));
    }
    transpose(va);
    transpose(vb);
    const uint32_t m = n - t < 4 ? n - t : 4;
    for (uint32_t i = 0; i < m; ++i) {
      va[i] = lose(&a, &a_low, &a_high, va[i]);
      vb[i] = lose(&b, &b_low, &b_high, vb[i]);
      if (moving) {
        group_step(&a, &a_step);
        group_step(&b, &b_step);
      }
    }
    transpose(va);
    transpose(vb);
    for (uint32_t i = 0; i < 4; ++i) {
      memcpy(&x[4 * g + i][t], &va[i], sizeof(f32x4));
      memcpy(&x[4 * g + 4 + i][t], &vb[i], sizeof(f32x4));
    }
  }
  f->low[g]      = a_low;
  f->high[g]     = a_high;
  f->low[g + 1]  = b_low;
  f->high[g + 1] = b_high;
}

static void
lose_steady(fdn* f, const float* const* oldest, fdn_block x, uint32_t n)
{
  for (uint32_t g = 0; g < FDN_GROUPS; g += 2) {
    lose_pair(f, g, oldest, x, n, false);
  }
}

static void
lose_moving(fdn* f, const float* const* oldest, fdn_block x, uint32_t n)
{
  for (uint32_t g = 0; g < FDN_GROUPS; g += 2) {
    lose_pair(f, g, oldest, x, n, true);
  }
  f32x4* const       now  = (f32x4*)&f->now;
  const f32x4* const step = (const f32x4*)&f->step;
  for (uint32_t t = 0; t < n; ++t) {
    for (uint32_t i = 0; i < sizeof(fdn_losses) / sizeof(f32x4); ++i) {
      now[i] += step[i];
    }
  }
}

// ---------------------------------------------------------------------------
// Lines and matrix

/// Where the oldest `n` frames of each line are: in the line, or put together
/// in `x` where they go around its end.  What is behind them has no meaning.
static void
find_oldest(const fdn* f, const float* oldest[], fdn_block x, uint32_t n)
{
  for (uint32_t i = 0; i < FDN_LINES; ++i) {
    const float* const from = f->line[i] + f->at[i];
    const uint32_t     left = f->length[i] - f->at[i];
    oldest[i]               = from;
    if (left < CONTROL_FRAMES) {
      const uint32_t m = n < left ? n : left;
      memcpy(x[i], from, m * sizeof(float));
      memcpy(x[i] + m, f->line[i], (n - m) * sizeof(float));
      memset(x[i] + n, 0, (CONTROL_FRAMES - n) * sizeof(float));
      oldest[i] = x[i];
    }
  }
}

static inline void
add(float* restrict to,
    const float* restrict a,
    const float* restrict b,
    uint32_t n)
{
  for (uint32_t t = 0; t < n; ++t) {
    to[t] = a[t] + b[t];
  }
}

/// Put x + in in their place
static void
write_lines(fdn* f, fdn_block x, fdn_block in, uint32_t n)
{
  for (uint32_t i = 0; i < FDN_LINES; ++i) {
    const uint32_t left = f->length[i] - f->at[i];
    const uint32_t m    = n < left ? n : left;
    add(f->line[i] + f->at[i], x[i], in[i], m);
    add(f->line[i], x[i] + m, in[i] + m, n - m);
    f->at[i] = n < left ? f->at[i] + n : n - left;
  }
}

/// Two stages of butterflies on the lines i, i + s, i + 2 s, i + 3 s
static inline void
butterflies(fdn_block x, uint32_t i, uint32_t s, uint32_t n)
{
  float* restrict a = x[i];
  float* restrict b = x[i + s];
  float* restrict c = x[i + 2 * s];
  float* restrict d = x[i + 3 * s];
  for (uint32_t t = 0; t < n; ++t) {
    const float ab = a[t] + b[t];
    const float am = a[t] - b[t];
    const float cd = c[t] + d[t];
    const float cm = c[t] - d[t];
    a[t]           = ab + cd;
    b[t]           = am + cm;
    c[t]           = ab - cd;
    d[t]           = am - cm;
  }
}

/// Fast Walsh-Hadamard transform over the lines, rows in natural order
static void
mix_lines(fdn_block x, uint32_t n)
{
  for (uint32_t i = 0; i < FDN_LINES; i += 4) {
    butterflies(x, i, 1, n);
  }
  for (uint32_t i = 0; i < 4; ++i) {
    butterflies(x, i, 4, n);
  }
}

void
fdn_process(fdn* f, fdn_block in, fdn_block out, uint32_t n)
{
  const float* oldest[FDN_LINES];
  find_oldest(f, oldest, out, n);
  if (f->moving) {
    lose_moving(f, oldest, out, n);
  } else {
    lose_steady(f, oldest, out, n);
  }
  mix_lines(out, n);
  write_lines(f, out, in, n);
}
