// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "breakup_lanes.h"

#include "common/core/fastmath.h"

#include <string.h>
#if defined(__SSE__)
#  include <xmmintrin.h>
#endif

void
breakup_lanes_matrix(const double coefs[BREAKUP_COEFS], breakup_matrix* matrix)
{
  const double e  = coefs[0];
  const double a2 = coefs[1];
  const double n0 = coefs[2];
  const double n1 = coefs[3];

  // Response of r, and of its step, to one unit of input, 0 to 3 samples later
  double r[4], dr[4];
  double sum[4]; // Sum of r up to there
  dr[0] = r[0] = sum[0] = 1.0;
  for (int i = 1; i < 4; ++i) {
    dr[i]  = a2 * dr[i - 1] - e * r[i - 1];
    r[i]   = r[i - 1] + dr[i];
    sum[i] = sum[i - 1] + r[i];
  }

  // The input is n0 (y4 - y5) + n1 (y5 - y6), of y so many samples ago
  const double tap[3]             = {n0, n1 - n0, -n1};
  float        m[BREAKUP_ROWS][4] = {{0.0F}};
  for (int j = 0; j < 4; ++j) {
    m[BREAKUP_OF_R][j]  = (float)(-e * sum[j]);
    m[BREAKUP_OF_DR][j] = (float)(a2 * r[j]);
    m[BREAKUP_OF_Y5][j] =
      (float)(tap[1] * r[j] + (j ? tap[2] * r[j - 1] : 0.0));
    m[BREAKUP_OF_Y6][j] = (float)(tap[2] * r[j]);
    for (int k = 0; k <= j; ++k) { // y of lane k, j - k samples later
      double to_r = 0.0;
      for (int i = 0; i < 3 && i <= j - k; ++i) {
        to_r += tap[i] * r[j - k - i];
      }
      m[BREAKUP_OF_Y + k][j] = (float)to_r;
    }
    double to_dr = 0.0; // Of lane j at the end
    for (int i = 0; i < 3 && i <= 3 - j; ++i) {
      to_dr += tap[i] * dr[3 - j - i];
    }
    m[BREAKUP_DR_OF_Y][j] = (float)to_dr;
  }
  m[BREAKUP_DR_OF][0] = (float)(-e * r[3]);
  m[BREAKUP_DR_OF][1] = (float)(a2 * dr[3]);
  m[BREAKUP_DR_OF][2] = (float)(tap[1] * dr[3] + tap[2] * dr[2]);
  m[BREAKUP_DR_OF][3] = (float)(tap[2] * dr[3]);
  memcpy(matrix, m, sizeof(m));
}

/// Returns `x` one sample earlier; the last lane of `before` is the sample
/// before `x`
static inline f32x4
one_earlier(f32x4 before, f32x4 x)
{
  const f32x4 seam = __builtin_shufflevector(before, x, 3, 3, 4, 4);
  return __builtin_shufflevector(seam, x, 0, 2, 5, 6);
}

static inline f32x4
root(f32x4 x)
{
#if defined(__SSE__)
  return _mm_sqrt_ps(x); // Or gcc takes the roots of shuffled lanes again
#else
  return (f32x4){sqrtf(x[0]), sqrtf(x[1]), sqrtf(x[2]), sqrtf(x[3])};
#endif
}

/// Returns a moving parameter at four samples of a frame
static inline f32x4
on_the_way(const float* move, f32x4 share)
{
  return f32x4_splat(move[-1]) + share * f32x4_splat(move[0] - move[-1]);
}

/// State of the loop within a block of one channel
typedef struct {
  f32x4 r;          ///< Last lane
  f32x4 y, earlier; ///< The last outputs and those before
  f32x4 d, f;       ///< Last lane
  float dr;
} lanes;

/// Computes four samples: `driven` is drive * w
static inline __attribute__((always_inline)) f32x4
step(lanes* s, const f32x4* m, float feedback, f32x4 driven)
{
  const float r  = s->r[3];
  const float y5 = s->earlier[3];
  const float y6 = s->earlier[2];

  const f32x4 known =
    (f32x4_splat(r) + m[BREAKUP_OF_R] * f32x4_splat(r)) +
    (m[BREAKUP_OF_DR] * f32x4_splat(s->dr) +
     (m[BREAKUP_OF_Y5] * f32x4_splat(y5) + m[BREAKUP_OF_Y6] * f32x4_splat(y6)));
  const f32x4 fresh = (m[BREAKUP_OF_Y + 0] * f32x4_splat(s->y[0]) +
                       m[BREAKUP_OF_Y + 1] * f32x4_splat(s->y[1])) +
                      (m[BREAKUP_OF_Y + 2] * f32x4_splat(s->y[2]) +
                       m[BREAKUP_OF_Y + 3] * f32x4_splat(s->y[3]));

  const f32x4 of_y = m[BREAKUP_DR_OF_Y] * s->y;
  const f32x4 of   = m[BREAKUP_DR_OF] * (f32x4){r, s->dr, y5, y6};
  const f32x4 all  = of_y + of;
  s->dr            = f32x4_sum(all);

  // The path from the last y is as short as can be: through `fresh`
  const f32x4 r4 = known + fresh;
  const f32x4 d =
    (driven + f32x4_splat(feedback) * known) + f32x4_splat(feedback) * fresh;
  const f32x4 f = root(1.0F + d * d);
  const f32x4 y = (d + one_earlier(s->d, d)) / (f + one_earlier(s->f, f));
  s->r          = r4;
  s->earlier    = s->y;
  s->y          = y;
  s->d          = d;
  s->f          = f;
  return y;
}

static lanes
begin(const breakup_memory* m)
{
  return (lanes){.r       = f32x4_splat(m->r),
                 .y       = f32x4_load(m->y + BREAKUP_HISTORY - 4),
                 .earlier = f32x4_load(m->y + BREAKUP_HISTORY - 8),
                 .d       = f32x4_splat(m->d),
                 .f       = f32x4_splat(m->f),
                 .dr      = m->dr};
}

static void
end(breakup_memory* m, const lanes* s)
{
  m->r  = s->r[3];
  m->dr = s->dr;
  m->d  = s->d[3];
  m->f  = s->f[3];
  f32x4_store(m->y + BREAKUP_HISTORY - 4, s->y);
  f32x4_store(m->y + BREAKUP_HISTORY - 8, s->earlier);
}

/// Runs `units` of four samples per frame in each of `n_channels`, both known
/// to the compiler.  Both channels share one loop: one works while the other
/// waits for itself.
static inline __attribute__((always_inline)) void
run(breakup*             b,
    const breakup_moves* moves,
    float* const*        samples,
    uint32_t             units,
    uint32_t             n_channels,
    uint32_t             n)
{
  lanes  s[MAX_CHANNELS];
  float* at[MAX_CHANNELS];
  for (uint32_t k = 0; k < n_channels; ++k) {
    s[k]  = begin(&b->memory[k]);
    at[k] = samples[k];
  }
  const float each = 0.25F / (float)units;
  for (uint32_t i = 0; i < n; ++i) {
    f32x4       m[BREAKUP_ROWS];
    const float t = (float)(b->phase + i);
    for (int k = 0; k < BREAKUP_ROWS; ++k) {
      m[k] = b->matrix_now.row[k] + b->matrix_step.row[k] * t;
    }
    for (uint32_t u = 0; u < units; ++u) {
      const float first = (float)(4 * u);
      const f32x4 share =
        each * (f32x4){first + 1.0F, first + 2.0F, first + 3.0F, first + 4.0F};
      const f32x4 drive = on_the_way(moves->drive + i, share);
      const f32x4 dry   = on_the_way(moves->dry + i, share);
      const f32x4 wet   = on_the_way(moves->wet + i, share);
      for (uint32_t k = 0; k < n_channels; ++k) {
        const f32x4 in  = f32x4_load(at[k]);
        const f32x4 y   = step(&s[k], m, moves->feedback[i], drive * in);
        const f32x4 out = dry * in + wet * y;
        f32x4_store(at[k], out);
        at[k] += 4;
      }
    }
  }
  for (uint32_t k = 0; k < n_channels; ++k) {
    end(&b->memory[k], &s[k]);
  }
}

WIDE_CLONES static void
run_wide(breakup*             b,
         const breakup_moves* moves,
         float* const*        samples,
         uint32_t             n_channels,
         uint32_t             n)
{
  const uint32_t units = b->factor / 4;
  if (units == 1 && n_channels == 1) {
    run(b, moves, samples, 1, 1, n);
  } else if (units == 1) {
    run(b, moves, samples, 1, 2, n);
  } else if (n_channels == 1) {
    run(b, moves, samples, 2, 1, n);
  } else {
    run(b, moves, samples, 2, 2, n);
  }
}

void
breakup_lanes_run(breakup*             b,
                  const breakup_moves* moves,
                  float* const*        samples,
                  uint32_t             n_channels,
                  uint32_t             n)
{
  run_wide(b, moves, samples, n_channels, n);
}
