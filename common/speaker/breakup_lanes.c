// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "breakup_lanes.h"

#include "common/core/fastmath.h"

#include <string.h>
#if defined(__SSE__)
#  include <xmmintrin.h>
#endif

typedef breakup_four four;

void
breakup_lanes_matrix(const double coefs[BREAKUP_COEFS], breakup_matrix* matrix)
{
  const double e  = coefs[0];
  const double a2 = coefs[1];
  const double n0 = coefs[2];
  const double n1 = coefs[3];

  // What one unit of input makes of r, and of its step, 0 to 3 samples later
  double r[4], dr[4];
  double sum[4]; // Of r up to there
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

static inline four
load(const float* x)
{
  four v;
  memcpy(&v, x, sizeof(v));
  return v;
}

static inline four
splat(float x)
{
  return (four){x, x, x, x};
}

/// The samples before `x`, of which `before` holds the last in its last lane
static inline four
one_earlier(four before, four x)
{
  const four seam = __builtin_shufflevector(before, x, 3, 3, 4, 4);
  return __builtin_shufflevector(seam, x, 0, 2, 5, 6);
}

static inline four
root(four x)
{
#if defined(__SSE__)
  return _mm_sqrt_ps(x); // Or gcc takes the roots of shuffled lanes again
#else
  return (four){sqrtf(x[0]), sqrtf(x[1]), sqrtf(x[2]), sqrtf(x[3])};
#endif
}

/// A move on the way through four samples of a frame
static inline four
on_the_way(const float* move, four share)
{
  return splat(move[-1]) + share * splat(move[0] - move[-1]);
}

/// The loop on the way through a channel
typedef struct {
  four  r;          ///< Last lane
  four  y, earlier; ///< The last outputs and those before
  four  d, f;       ///< Last lane
  float dr;
} lanes;

/// Four samples: `driven` is drive * w
static inline __attribute__((always_inline)) four
step(lanes* s, const four* m, float feedback, four driven)
{
  const float r  = s->r[3];
  const float y5 = s->earlier[3];
  const float y6 = s->earlier[2];

  const four known =
    (splat(r) + m[BREAKUP_OF_R] * splat(r)) +
    (m[BREAKUP_OF_DR] * splat(s->dr) +
     (m[BREAKUP_OF_Y5] * splat(y5) + m[BREAKUP_OF_Y6] * splat(y6)));
  const four fresh = (m[BREAKUP_OF_Y + 0] * splat(s->y[0]) +
                      m[BREAKUP_OF_Y + 1] * splat(s->y[1])) +
                     (m[BREAKUP_OF_Y + 2] * splat(s->y[2]) +
                      m[BREAKUP_OF_Y + 3] * splat(s->y[3]));

  const four of_y = m[BREAKUP_DR_OF_Y] * s->y;
  const four of   = m[BREAKUP_DR_OF] * (four){r, s->dr, y5, y6};
  const four all  = of_y + of;
  s->dr           = (all[0] + all[1]) + (all[2] + all[3]);

  // What waits for the last y is as short as can be: `fresh` and on from it
  const four r4 = known + fresh;
  const four d  = (driven + splat(feedback) * known) + splat(feedback) * fresh;
  const four f  = root(1.0F + d * d);
  const four y  = (d + one_earlier(s->d, d)) / (f + one_earlier(s->f, f));
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
  return (lanes){.r       = splat(m->r),
                 .y       = load(m->y + BREAKUP_HISTORY - 4),
                 .earlier = load(m->y + BREAKUP_HISTORY - 8),
                 .d       = splat(m->d),
                 .f       = splat(m->f),
                 .dr      = m->dr};
}

static void
end(breakup_memory* m, const lanes* s)
{
  m->r  = s->r[3];
  m->dr = s->dr;
  m->d  = s->d[3];
  m->f  = s->f[3];
  memcpy(m->y + BREAKUP_HISTORY - 4, &s->y, sizeof(s->y));
  memcpy(m->y + BREAKUP_HISTORY - 8, &s->earlier, sizeof(s->earlier));
}

/// `units` of four samples per frame in each of `n_channels`, both known to the
/// compiler.  Both channels in one loop: the one works while the other waits
/// for itself.
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
    four        m[BREAKUP_ROWS];
    const float t = (float)(b->phase + i);
    for (int k = 0; k < BREAKUP_ROWS; ++k) {
      m[k] = b->matrix_now.row[k] + b->matrix_step.row[k] * t;
    }
    for (uint32_t u = 0; u < units; ++u) {
      const float first = (float)(4 * u);
      const four  share =
        each * (four){first + 1.0F, first + 2.0F, first + 3.0F, first + 4.0F};
      const four drive = on_the_way(moves->drive + i, share);
      const four dry   = on_the_way(moves->dry + i, share);
      const four wet   = on_the_way(moves->wet + i, share);
      for (uint32_t k = 0; k < n_channels; ++k) {
        const four in  = load(at[k]);
        const four y   = step(&s[k], m, moves->feedback[i], drive * in);
        const four out = dry * in + wet * y;
        memcpy(at[k], &out, sizeof(out));
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
