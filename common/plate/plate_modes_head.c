// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "plate_modes_parts.h"

#include "common/core/crossfade.h"

#define BLOCK PLATE_GRID_BLOCK
#define SIZE  PLATE_GRID_SIZE
#define TILE  PLATE_MODES_TILE

/// Where a transform keeps node p, or frame t of a block from its middle
static inline uint32_t
wrapped(int i)
{
  return (uint32_t)i & (SIZE - 1U);
}

void
plate_modes_analyse(const plate_modes* b, plate_modes_nodes* nodes)
{
  // Both inputs in one transform: one is real, one is imaginary
  plate_spectrum     x    = {{0}, {0}};
  const float* const in_0 = b->history[0] + TILE;
  const float* const in_1 = b->history[1] + TILE;
  for (int t = 0; t < BLOCK; ++t) {
    x.re[wrapped(t - BLOCK / 2)] = b->grid.window[t] * in_0[t];
    x.im[wrapped(t - BLOCK / 2)] = b->grid.window[t] * in_1[t];
  }
  plate_fft_forward(&b->fft, &x);
  for (int i = 0; i < PLATE_MODES_NODES; ++i) {
    const uint32_t p = wrapped(i - PLATE_GRID_REACH);
    const uint32_t m = wrapped(PLATE_GRID_REACH - i);
    nodes->re[0][i]  = 0.5F * (x.re[p] + x.re[m]);
    nodes->im[0][i]  = 0.5F * (x.im[p] - x.im[m]);
    nodes->re[1][i]  = 0.5F * (x.im[p] + x.im[m]);
    nodes->im[1][i]  = 0.5F * (x.re[m] - x.re[p]);
  }
}

void
plate_modes_synthesise(const plate_modes*       b,
                       const plate_modes_nodes* nodes,
                       float*                   left,
                       float*                   right,
                       size_t                   stride)
{
  plate_spectrum x = {{0}, {0}};
  for (int i = 0; i < PLATE_MODES_NODES; ++i) {
    const uint32_t p = wrapped(i - PLATE_GRID_REACH);
    const uint32_t m = wrapped(PLATE_GRID_REACH - i);
    x.re[p] += 0.5F * (nodes->re[0][i] - nodes->im[1][i]);
    x.im[p] += 0.5F * (nodes->im[0][i] + nodes->re[1][i]);
    x.re[m] += 0.5F * (nodes->re[0][i] + nodes->im[1][i]);
    x.im[m] += 0.5F * (nodes->re[1][i] - nodes->im[0][i]);
  }
  plate_fft_backward(&b->fft, &x);
  for (int t = 0; t < BLOCK; ++t) {
    const uint32_t at = wrapped(t - BLOCK / 2);
    left[stride * t]  = b->grid.window[t] * x.re[at];
    right[stride * t] = b->grid.window[t] * x.im[at];
  }
}

void
plate_modes_make_kernel(plate_modes* b, size_t part)
{
  const size_t input = part / 2;
  const size_t half  = part % 2;
  float* const from =
    (float*)b->new_kernel + half * (4 * (size_t)BLOCK) + 2 * input;
  plate_modes_synthesise(b, &b->head[input][half], from, from + 1, 4);
  if (half == 0) {
    // A sudden onset counts half, so has no DC
    from[0] *= 0.5F;
    from[1] *= 0.5F;
  }
}

/// Filters `vectors` * 4 frames of both outputs at once
static inline __attribute__((always_inline)) void
filter_tile(const f32x4* kernel,
            size_t       taps,
            const float* in_0,
            const float* in_1,
            size_t       vectors,
            f32x4*       left,
            f32x4*       right)
{
  f32x4 l[TILE / 4] = {{0}};
  f32x4 r[TILE / 4] = {{0}};
  for (size_t k = 0; k < taps; ++k) {
    const f32x4 h   = kernel[k];
    const f32x4 l_0 = __builtin_shufflevector(h, h, 0, 0, 0, 0);
    const f32x4 r_0 = __builtin_shufflevector(h, h, 1, 1, 1, 1);
    const f32x4 l_1 = __builtin_shufflevector(h, h, 2, 2, 2, 2);
    const f32x4 r_1 = __builtin_shufflevector(h, h, 3, 3, 3, 3);
    for (size_t i = 0; i < vectors; ++i) {
      const f32x4 x_0 = f32x4_load(in_0 + 4 * i - k);
      const f32x4 x_1 = f32x4_load(in_1 + 4 * i - k);
      l[i] += l_0 * x_0;
      r[i] += r_0 * x_0;
      l[i] += l_1 * x_1;
      r[i] += r_1 * x_1;
    }
  }
  memcpy(left, l, vectors * sizeof(f32x4));
  memcpy(right, r, vectors * sizeof(f32x4));
}

/// Filters; writes up to the next multiple of a tile
static void
filter(const plate_modes* b,
       const f32x4*       kernel,
       float*             left,
       float*             right,
       uint32_t           n)
{
  for (uint32_t i = 0; i < n; i += TILE) {
    // Taps that reach back to the start of the last block, for the last frame
    // of the tile; before that there are zeros
    const uint32_t     at   = BLOCK + b->at + i;
    const float* const in_0 = b->history[0] + TILE + at;
    const float* const in_1 = b->history[1] + TILE + at;
    f32x4              l[TILE / 4];
    f32x4              r[TILE / 4];
    if (n - i > 4) {
      filter_tile(kernel, at + TILE, in_0, in_1, TILE / 4, l, r);
      memcpy(left + i, l, sizeof(l));
      memcpy(right + i, r, sizeof(r));
    } else {
      filter_tile(kernel, at + 4, in_0, in_1, 1, l, r);
      memcpy(left + i, l, sizeof(l[0]));
      memcpy(right + i, r, sizeof(r[0]));
    }
  }
}

void
plate_modes_filter(const plate_modes* b, float* left, float* right, uint32_t n)
{
  filter(b, b->kernel, left, right, n);
  if (!b->fading) {
    return;
  }
  float next_left[CONTROL_FRAMES];
  float next_right[CONTROL_FRAMES];
  filter(b, b->next_kernel, next_left, next_right, n);
  float share[CONTROL_FRAMES];
  for (uint32_t i = 0; i < n; ++i) {
    share[i] = (float)(b->at + i) * (1.0F / BLOCK);
  }
  crossfade_mix(share, next_left, left, n);
  crossfade_mix(share, next_right, right, n);
}
