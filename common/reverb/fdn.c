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
  }
  fdn_restart(f);
}

void
fdn_restart(fdn* f)
{
  memset(f->at, 0, sizeof(f->at));
  memset(f->memory, 0, sizeof(f->memory));
}

// ---------------------------------------------------------------------------
// Losses

void
fdn_fit_decay(fdn* f, const decay_law* law)
{
  uint32_t longest = 0;
  for (uint32_t i = 0; i < FDN_LINES; ++i) {
    longest = f->length[i] > longest ? f->length[i] : longest;
  }
  f->fit = absorption_fit_of(law, f->rate_hz, longest / f->rate_hz);
}

static void
find_losses(fdn* f, const decay_law* law)
{
  for (uint32_t i = 0; i < FDN_LINES; ++i) {
    const absorption a = absorption_of(law, &f->fit, f->length[i] / f->rate_hz);
    // A quarter, because the butterflies leave out the factor that makes them
    // orthogonal
    loss_set_lane(&f->to[i / 4], i % 4, &a, 0.25);
  }
}

void
fdn_snap_decay(fdn* f, const decay_law* law, double rate_hz)
{
  f->rate_hz = rate_hz;
  fdn_fit_decay(f, law);
  fdn_snap_fitted(f, law);
}

void
fdn_snap_fitted(fdn* f, const decay_law* law)
{
  find_losses(f, law);
  memcpy(f->now, f->to, sizeof(f->now));
  f->moving = false;
}

void
fdn_push_decay(fdn* f, const decay_law* law)
{
  fdn_fit_decay(f, law);
  fdn_move_decay(f, law, 1);
}

void
fdn_move_decay(fdn* f, const decay_law* law, uint32_t n_lines)
{
  const uint32_t frames = n_lines * CONTROL_FRAMES;
  memcpy(f->now, f->to, sizeof(f->now)); // Without the steps' rounding
  find_losses(f, law);
  f->moving = false;
  for (uint32_t g = 0; g < FDN_GROUPS; ++g) {
    const bool moves =
      loss_step_between(&f->now[g], &f->to[g], frames, &f->step[g]);
    f->moving = f->moving || moves;
  }
}

/// Transposes a 4 by 4 block: lines to lanes, and back
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

/// Filters from the lines into `x`.  Two groups side by side: one alone would
/// wait for its own results.
static inline __attribute__((always_inline)) void
lose_pair(fdn*                f,
          uint32_t            g,
          const float* const* oldest,
          fdn_block           x,
          uint32_t            n,
          bool                moving)
{
  loss_lanes       a        = f->now[g];
  loss_lanes       b        = f->now[g + 1];
  const loss_lanes a_step   = f->step[g];
  const loss_lanes b_step   = f->step[g + 1];
  loss_memory      a_memory = f->memory[g];
  loss_memory      b_memory = f->memory[g + 1];
  for (uint32_t t = 0; t < n; t += 4) {
    f32x4 va[4];
    f32x4 vb[4];
    for (uint32_t i = 0; i < 4; ++i) {
      va[i] = f32x4_load(oldest[4 * g + i] + t);
      vb[i] = f32x4_load(oldest[4 * g + 4 + i] + t);
    }
    transpose(va);
    transpose(vb);
    const uint32_t m = n - t < 4 ? n - t : 4;
    for (uint32_t i = 0; i < m; ++i) {
      va[i] = loss_next(&a, &a_memory, va[i]);
      vb[i] = loss_next(&b, &b_memory, vb[i]);
      if (moving) {
        loss_step(&a, &a_step);
        loss_step(&b, &b_step);
      }
    }
    transpose(va);
    transpose(vb);
    for (uint32_t i = 0; i < 4; ++i) {
      f32x4_store(&x[4 * g + i][t], va[i]);
      f32x4_store(&x[4 * g + 4 + i][t], vb[i]);
    }
  }
  f->memory[g]     = a_memory;
  f->memory[g + 1] = b_memory;
  if (moving) {
    f->now[g]     = a;
    f->now[g + 1] = b;
  }
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
}

// ---------------------------------------------------------------------------
// Lines and matrix

_Static_assert(FDN_LINES == 16, "Butterflies of 4 by 4 lines");
_Static_assert(CONTROL_FRAMES % 4 == 0, "Blocks of 4 by 4 frames");
_Static_assert(FDN_MIN_FRAMES >= CONTROL_FRAMES,
               "Nothing comes back in a block");

/// Finds the oldest `n` frames of each line: in the line, or put together in
/// `x` where they go around its end.  What follows them has no meaning.
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

/// Writes x + in in their place
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

/// Computes two stages of butterflies on the lines i, i + s, i + 2 s, i + 3 s
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
