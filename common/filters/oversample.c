// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "oversample.h"

#include "common/core/fastmath.h"
#include "common/core/lanes.h"

#include <string.h>

// A half-band filter of 2 B - 1 taps: its even taps are a linear-phase filter
// of B taps (the branch), its odd taps are zero except for the middle one, 0.5.
// The branch is an all-pass over the pass band, delayed by half a frame,
// equiripple: scipy.signal.remez(B, [0, 20], [1], fs=48) (96 and 192 for the
// next two; grid_density=256, scipy 1.10.1), its first half here, gain 1.
//
// taps  pass, stop at 48 kHz   stop band
//   75  20, 28 kHz             -103.5 dB
//   19  20, 76 kHz             -106.0 dB
//   11  20, 172 kHz            -104.0 dB

static const float branch_0[OVERSAMPLE_BRANCH_0 / 2] = {
  3.20835556e-05F, -9.79982688e-05F, 0.000239111742F, -0.000502168271F,
  0.000953452468F, -0.00168027139F,  0.00279370323F,  -0.00443172049F,
  0.00676384989F,  -0.00999974337F,  0.0144063336F,   -0.0203430554F,
  0.0283357809F,   -0.0392392672F,   0.054625165F,    -0.077844208F,
  0.117644781F,    -0.206266231F,    0.634617051F,
};

static const float branch_1[OVERSAMPLE_BRANCH_1 / 2] = {
  0.00143231308F, -0.011048713F, 0.046306508F, -0.149287387F, 0.612602304F,
};

static const float branch_2[OVERSAMPLE_BRANCH_2 / 2] = {
  0.0134085059F,
  -0.102454256F,
  0.589052081F,
};

// Outputs are computed in groups of eight lanes, so that sums stay in registers
// on any machine.  Every lane does the same operations in the same order: the
// grouping has no influence on the result.
#define LANES   8
#define TILE    16
#define N_LANES (TILE / LANES)

/// y[i] = sum of c[j] * (x[i + j] + x[i + 2 pairs - 1 - j]).  Writes up to the
/// next multiple of TILE, and reads as far.
static inline __attribute__((always_inline)) void
run_branch(const float* restrict x,
           const float* restrict c,
           size_t pairs,
           float* restrict y,
           size_t n)
{
  for (size_t t = 0; t < n; t += TILE) {
    const float* const head = x + t;
    const float* const tail = head + 2 * pairs - 1;

    f32x8 sum[N_LANES] = {{0}};
#pragma GCC unroll 20 // All pairs: the taps become constants
    for (size_t j = 0; j < pairs; ++j) {
      const f32x8 tap = {c[j], c[j], c[j], c[j], c[j], c[j], c[j], c[j]};
      for (size_t i = 0; i < N_LANES; ++i) {
        f32x8 early, late;
        memcpy(&early, head + LANES * i + j, sizeof(early));
        memcpy(&late, tail + LANES * i - j, sizeof(late));
        sum[i] += tap * (early + late);
      }
    }
    memcpy(y + t, sum, sizeof(sum));
  }
}

/// Keeps the last `size` samples of the `size + n` in `memory` for the next
/// call
static inline void
shift(float* memory, size_t size, size_t n)
{
  memmove(memory, memory + n, size * sizeof(float));
}

/// Interpolates n samples into 2 n at `out`.  `memory` holds the last B - 1
/// samples, then the n.
static inline __attribute__((always_inline)) void
interpolate(float* restrict memory,
            const float* restrict c,
            size_t b,
            float* restrict out,
            size_t n)
{
  float y[OVERSAMPLE_MAX_SAMPLES / 2];
  run_branch(memory, c, b / 2, y, n);

  const float* const middle = memory + b / 2;
  for (size_t i = 0; i < n; ++i) {
    out[2 * i]     = y[i];
    out[2 * i + 1] = middle[i];
  }
  shift(memory, b - 1, n);
}

/// Decimates 2 n samples at `in` into n at `out`, each the filter's output at
/// the even (odd) one of two input samples.  `filtered` holds the last B - 1
/// samples of the even (odd) phase, `delayed` of the other.
static inline __attribute__((always_inline)) void
decimate(float* restrict filtered,
         float* restrict delayed,
         const float* restrict c,
         size_t       b,
         size_t       odd,
         const float* in,
         float*       out,
         size_t       n)
{
  float* const even_phase = (odd ? delayed : filtered) + b - 1;
  float* const odd_phase  = (odd ? filtered : delayed) + b - 1;
  for (size_t i = 0; i < n; ++i) {
    even_phase[i] = in[2 * i];
    odd_phase[i]  = in[2 * i + 1];
  }

  float y[OVERSAMPLE_MAX_SAMPLES / 2];
  run_branch(filtered, c, b / 2, y, n);

  const float* const middle = delayed + b / 2 - 1 + odd;
  for (size_t i = 0; i < n; ++i) {
    out[i] = 0.5F * (y[i] + middle[i]);
  }
  shift(filtered, b - 1, n);
  shift(delayed, b - 1, n);
}

uint32_t
oversample_factor(uint32_t quality, double rate_hz)
{
  double factor = 2U << quality;
  if (rate_hz >= 64000.0) {
    factor *= rate_hz < 128000.0 ? 0.5 : rate_hz < 256000.0 ? 0.25 : 0.125;
  }
  if (rate_hz < 32000.0) {
    factor *= rate_hz < 16000.0 ? 4.0 : 2.0;
  }
  return (uint32_t)clampd(factor, 1.0, OVERSAMPLE_MAX_FACTOR);
}

/// Round trip in inner samples while the first sample of each frame is kept:
/// each half-band delays by its B - 1, there and back
static uint32_t
inner_latency(uint32_t factor)
{
  uint32_t samples = 0;
  if (factor >= 2) {
    samples += factor * (OVERSAMPLE_BRANCH_0 - 1);
  }
  if (factor >= 4) {
    samples += factor / 2 * (OVERSAMPLE_BRANCH_1 - 1);
  }
  if (factor >= 8) {
    samples += factor / 4 * (OVERSAMPLE_BRANCH_2 - 1);
  }
  return samples;
}

bool
oversample_init(oversampler* o, uint32_t factor)
{
  return oversample_init_delayed(o, factor, 0);
}

bool
oversample_init_delayed(oversampler* o, uint32_t factor, uint32_t inner_samples)
{
  if (factor != 1 && factor != 2 && factor != 4 && factor != 8) {
    return false;
  }
  // Keeping a later sample makes up for what exceeds whole frames
  o->factor = factor;
  o->phase  = (inner_latency(factor) + inner_samples) % factor;
  oversample_reset(o);
  return true;
}

void
oversample_reset(oversampler* o)
{
  const uint32_t factor = o->factor;
  const uint32_t phase  = o->phase;
  memset(o, 0, sizeof(*o));
  o->factor = factor;
  o->phase  = phase;
}

uint32_t
oversample_latency_frames(uint32_t factor)
{
  return oversample_latency_frames_delayed(factor, 0);
}

uint32_t
oversample_latency_frames_delayed(uint32_t factor, uint32_t inner_samples)
{
  return (inner_latency(factor) + inner_samples) / factor;
}

WIDE_CLONES static void
up(oversampler* o, const float* in, float* out, uint32_t n)
{
  if (o->factor == 1) {
    memcpy(out, in, n * sizeof(float));
    return;
  }

  // Each doubling writes where the next one reads; the last one writes to `out`
  float* const from_1 = o->up_0 + OVERSAMPLE_BRANCH_0 - 1;
  float* const from_2 = o->up_1 + OVERSAMPLE_BRANCH_1 - 1;
  float* const from_4 = o->up_2 + OVERSAMPLE_BRANCH_2 - 1;
  float* const to_2   = o->factor == 2 ? out : from_2;
  float* const to_4   = o->factor == 4 ? out : from_4;

  memcpy(from_1, in, n * sizeof(float));
  interpolate(o->up_0, branch_0, OVERSAMPLE_BRANCH_0, to_2, n);
  if (o->factor >= 4) {
    interpolate(o->up_1, branch_1, OVERSAMPLE_BRANCH_1, to_4, (size_t)2 * n);
  }
  if (o->factor == 8) {
    interpolate(o->up_2, branch_2, OVERSAMPLE_BRANCH_2, out, (size_t)4 * n);
  }
}

void
oversample_up(oversampler* o, const float* in, float* out, uint32_t n)
{
  up(o, in, out, n);
}

WIDE_CLONES static void
down(oversampler* o, float* in, float* out, uint32_t n)
{
  // Bits of the phase, from the innermost decimator to the outermost
  uint32_t phase = o->phase;
  if (o->factor == 8) {
    decimate(o->filtered_2, o->delayed_2, branch_2, OVERSAMPLE_BRANCH_2,
             phase & 1U, in, in, (size_t)4 * n);
    phase >>= 1U;
  }
  if (o->factor >= 4) {
    decimate(o->filtered_1, o->delayed_1, branch_1, OVERSAMPLE_BRANCH_1,
             phase & 1U, in, in, (size_t)2 * n);
    phase >>= 1U;
  }
  if (o->factor == 1) {
    memmove(out, in, n * sizeof(float));
  } else {
    decimate(o->filtered_0, o->delayed_0, branch_0, OVERSAMPLE_BRANCH_0,
             phase & 1U, in, out, n);
  }
}

void
oversample_down(oversampler* o, float* in, float* out, uint32_t n)
{
  down(o, in, out, n);
}
