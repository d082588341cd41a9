// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "power_fft.h"

#include "common/core/dsp.h"
#include "common/core/fastmath.h"
#include "presets-demo/render/program/alloc.h"

#include <assert.h>
#include <math.h>
#include <stdlib.h>

typedef struct {
  float re, im;
} turn;

struct power_fft {
  uint32_t  n;      ///< Complex numbers: half the size
  turn*     turns;  ///< exp(-2 pi i k / n), k below n
  turn*     halves; ///< exp(-pi i k / n), k up to n / 2
  uint32_t* places; ///< Row of each bin
};

typedef struct {
  signal_row re, im;
} pair;

/// Returns the place of bin k: its digits in base 4 reversed, as each step
/// sorts a block by the next of them; the last step may be of radix 2
static uint32_t
place_of(uint32_t n, uint32_t k)
{
  uint32_t at = 0;
  for (uint32_t length = n; length > 1;) {
    const uint32_t radix = length == 2 ? 2 : 4;
    length /= radix;
    at += k % radix * length;
    k /= radix;
  }
  return 2 * at;
}

static turn
turn_by(double angle)
{
  return (turn){(float)cos(angle), (float)-sin(angle)};
}

power_fft*
power_fft_new(uint32_t size)
{
  assert(size >= 8 && !(size & (size - 1U)));
  power_fft* const p = alloc_new(1, sizeof(*p));
  p->n               = size / 2;
  p->turns           = alloc_new(p->n, sizeof(*p->turns));
  p->halves          = alloc_new(p->n / 2 + 1, sizeof(*p->halves));
  p->places          = alloc_new(p->n, sizeof(*p->places));
  for (uint32_t k = 0; k < p->n; ++k) {
    p->turns[k]  = turn_by(2.0 * DSP_PI * k / p->n);
    p->places[k] = place_of(p->n, k);
  }
  for (uint32_t k = 0; k <= p->n / 2; ++k) {
    p->halves[k] = turn_by(DSP_PI * k / p->n);
  }
  return p;
}

void
power_fft_free(power_fft* p)
{
  if (p) {
    free(p->places);
    free(p->halves);
    free(p->turns);
    free(p);
  }
}

__attribute__((always_inline)) static inline pair
turned(pair z, turn by)
{
  return (pair){z.re * by.re - z.im * by.im, z.re * by.im + z.im * by.re};
}

/// One step of radix 4 over a block of `length`, whose turns are `stride` apart
__attribute__((always_inline)) static inline void
quarter(pair* z, uint32_t length, uint32_t stride, const turn* turns)
{
  const uint32_t q = length / 4;
  for (uint32_t i = 0; i < q; ++i) {
    const pair  a   = z[i];
    const pair  b   = z[i + q];
    const pair  c   = z[i + 2 * q];
    const pair  d   = z[i + 3 * q];
    const f32x8 s_r = a.re + c.re;
    const f32x8 s_i = a.im + c.im;
    const f32x8 d_r = a.re - c.re;
    const f32x8 d_i = a.im - c.im;
    const f32x8 t_r = b.re + d.re;
    const f32x8 t_i = b.im + d.im;
    const f32x8 u_r = b.re - d.re;
    const f32x8 u_i = b.im - d.im;
    const turn* w   = turns + (size_t)i * stride;
    z[i]            = (pair){s_r + t_r, s_i + t_i};
    z[i + q]        = turned((pair){d_r + u_i, d_i - u_r}, *w);
    z[i + 2 * q] = turned((pair){s_r - t_r, s_i - t_i}, w[(size_t)i * stride]);
    z[i + 3 * q] =
      turned((pair){d_r - u_i, d_i + u_r}, w[(size_t)2 * i * stride]);
  }
}

/// The last step of a length that is no power of 4
__attribute__((always_inline)) static inline void
halve(pair* z)
{
  const pair a = z[0];
  const pair b = z[1];
  z[0]         = (pair){a.re + b.re, a.im + b.im};
  z[1]         = (pair){a.re - b.re, a.im - b.im};
}

/// Transforms blocks one after the other, down to those that fit the innermost
/// cache, so that most steps need no other
WIDE_CLONES static void
transform(pair* z, uint32_t n, const turn* turns)
{
  enum { CACHED = 256 }; // 16 KiB
  uint32_t outer = n;
  for (; outer > CACHED; outer /= 4) {
    for (uint32_t at = 0; at < n; at += outer) {
      quarter(z + at, outer, n / outer, turns);
    }
  }
  for (uint32_t block = 0; block < n; block += outer) {
    for (uint32_t length = outer; length > 1; length /= 4) {
      for (uint32_t at = block; at < block + outer; at += length) {
        if (length > 2) {
          quarter(z + at, length, n / length, turns);
        } else {
          halve(z + at);
        }
      }
    }
  }
}

/// Splits the transform of the pairs: with E and O those of the even and the
/// odd samples, bin k is E + w O and bin n - k the conjugate of E - w O
WIDE_CLONES static void
split(signal_row* x, uint32_t n, const turn* halves, const uint32_t* places)
{
  for (uint32_t k = 1; k <= n / 2; ++k) {
    signal_row* const low  = x + places[k];
    signal_row* const high = x + places[n - k];
    const turn        w    = halves[k];
    const f32x8       e_r  = low[0] + high[0];
    const f32x8       e_i  = low[1] - high[1];
    const f32x8       o_r  = low[1] + high[1];
    const f32x8       o_i  = high[0] - low[0];
    const f32x8       t_r  = o_r * w.re - o_i * w.im;
    const f32x8       t_i  = o_r * w.im + o_i * w.re;
    const f32x8       a_r  = e_r + t_r;
    const f32x8       a_i  = e_i + t_i;
    const f32x8       b_r  = e_r - t_r;
    const f32x8       b_i  = e_i - t_i;
    // Twice E and O: a quarter of the power
    low[0]  = (a_r * a_r + a_i * a_i) * 0.25F;
    high[0] = (b_r * b_r + b_i * b_i) * 0.25F;
  }
}

void
power_fft_run(const power_fft* p, signal_row* x)
{
  transform((pair*)(void*)x, p->n, p->turns);
  split(x, p->n, p->halves, p->places);
}

uint32_t
power_fft_place(const power_fft* p, uint32_t bin)
{
  return p->places[bin];
}
