// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "plate_modes_parts.h"

/// Groups that are worked on together, so that they stay in the first cache
#define CHUNK 32U

/// Output of the modes: real and imaginary part per output
#define PARTS (2U * PLATE_MODES_OUTPUTS)
typedef f32x4 chunk_output[PARTS][CHUNK];

/// Values at the nodes around a band, or sums over its modes, for each lane
typedef struct {
  f32x4 re[PLATE_GRID_TAPS], im[PLATE_GRID_TAPS];
} lane_taps;

/// Multiplies both rows by a matrix
static inline plate_modes_taps
multiply(const plate_grid_matrix* m, const plate_modes_taps* x)
{
  plate_modes_taps y = {0};
  for (uint32_t k = 0; k < 2; ++k) {
    f32x4 re[2] = {{0}};
    f32x4 im[2] = {{0}};
    for (uint32_t p = 0; p < PLATE_GRID_TAPS; ++p) {
      const f32x4 x_re = f32x4_splat(x->re[k][p]);
      const f32x4 x_im = f32x4_splat(x->im[k][p]);
      for (size_t h = 0; h < 2; ++h) {
        const f32x4 m_re = f32x4_load(m->re[p] + 4 * h);
        const f32x4 m_im = f32x4_load(m->im[p] + 4 * h);
        re[h] += m_re * x_re - m_im * x_im;
        im[h] += m_re * x_im + m_im * x_re;
      }
    }
    memcpy(y.re[k], re, sizeof(re));
    memcpy(y.im[k], im, sizeof(im));
  }
  return y;
}

/// Turns `n` groups by a block: what they keep, plus what the nodes put in.
/// They are heard a block later.
static inline void
turn(const plate_modes_group* group,
     f32x4*                   re,
     f32x4*                   im,
     uint32_t                 n,
     float                    keep,
     const lane_taps*         nodes,
     chunk_output             out)
{
  for (uint32_t g = 0; g < n; ++g) {
    const plate_modes_group* const m    = &group[g];
    f32x4                          a_re = keep * re[g];
    f32x4                          a_im = keep * im[g];
    for (uint32_t p = 0; p < PLATE_GRID_TAPS; ++p) {
      a_re += m->weight[p] * nodes->re[p];
      a_im += m->weight[p] * nodes->im[p];
    }
    const f32x4 b_re = m->turn_re * a_re - m->turn_im * a_im;
    const f32x4 b_im = m->turn_re * a_im + m->turn_im * a_re;
    const f32x4 c_re = m->turn_re * b_re - m->turn_im * b_im;
    const f32x4 c_im = m->turn_re * b_im + m->turn_im * b_re;
    re[g]            = b_re;
    im[g]            = b_im;
    for (size_t k = 0; k < PLATE_MODES_OUTPUTS; ++k) {
      out[2 * k][g]     = m->gain[k] * c_re;
      out[2 * k + 1][g] = m->gain[k] * c_im;
    }
  }
}

/// Adds one part of the output of `n` groups to the taps
static inline void
spread(const plate_modes_group* group,
       const f32x4*             part,
       uint32_t                 n,
       f32x4*                   sums)
{
  f32x4 s[PLATE_GRID_TAPS];
  memcpy(s, sums, sizeof(s));
  for (uint32_t g = 0; g < n; ++g) {
    for (uint32_t p = 0; p < PLATE_GRID_TAPS; ++p) {
      s[p] += group[g].weight[p] * part[g];
    }
  }
  memcpy(sums, s, sizeof(s));
}

/// Returns the nodes around a band
static plate_modes_taps
taps_of(const plate_modes_nodes* nodes, uint32_t node)
{
  plate_modes_taps t = {0};
  for (uint32_t k = 0; k < 2; ++k) {
    memcpy(t.re[k], nodes->re[k] + node, sizeof(t.re[k]));
    memcpy(t.im[k], nodes->im[k] + node, sizeof(t.im[k]));
  }
  return t;
}

static void
add_taps(plate_modes_nodes*      nodes,
         uint32_t                node,
         const plate_modes_taps* t,
         float                   gain)
{
  for (uint32_t k = 0; k < 2; ++k) {
    for (uint32_t p = 0; p < 8; ++p) {
      nodes->re[k][node + p] += gain * t->re[k][p];
      nodes->im[k][node + p] += gain * t->im[k][p];
    }
  }
}

/// Runs all modes of a band; sums over them, per lane
static void
run_modes(plate_modes*            b,
          const plate_modes_band* band,
          const plate_modes_taps* put_in,
          f32x4                   sums[PARTS][PLATE_GRID_TAPS])
{
  for (uint32_t input = 0; input < PLATE_MODES_INPUTS; ++input) {
    lane_taps nodes;
    for (uint32_t p = 0; p < PLATE_GRID_TAPS; ++p) {
      nodes.re[p] = f32x4_splat(put_in->re[input][p]);
      nodes.im[p] = f32x4_splat(put_in->im[input][p]);
    }
    const uint32_t end = band->first[input + 1];
    for (uint32_t g = band->first[input]; g < end; g += CHUNK) {
      chunk_output   out;
      const uint32_t n = end - g < CHUNK ? end - g : CHUNK;
      turn(&b->group[g], &b->re[g], &b->im[g], n, band->keep, &nodes, out);
      for (uint32_t i = 0; i < PARTS; ++i) {
        spread(&b->group[g], out[i], n, sums[i]);
      }
    }
  }
}

void
plate_modes_run_band(plate_modes* b, const plate_modes_band* band)
{
  const plate_modes_taps around = taps_of(&b->gathered, band->node);
  const plate_modes_taps put_in = multiply(&band->gather, &around);

  f32x4 sums[PARTS][PLATE_GRID_TAPS];
  memset(sums, 0, sizeof(sums));
  run_modes(b, band, &put_in, sums);

  plate_modes_taps t = {0};
  for (size_t k = 0; k < PLATE_MODES_OUTPUTS; ++k) {
    for (uint32_t p = 0; p < PLATE_GRID_TAPS; ++p) {
      t.re[k][p] = f32x4_sum(sums[2 * k][p]);
      t.im[k][p] = f32x4_sum(sums[2 * k + 1][p]);
    }
  }
  const plate_modes_taps put_out = multiply(&band->spread, &t);
  add_taps(&b->spread, band->node, &put_out, 1.0F);
}

/// Adds the modes' response to an impulse, `half` blocks later, to the head
static void
add_head(plate_modes*            b,
         const plate_modes_band* band,
         uint32_t                half,
         double                  gain)
{
  for (uint32_t input = 0; input < PLATE_MODES_INPUTS; ++input) {
    const plate_modes_taps t =
      multiply(&band->spread, &band->head[input][half]);
    add_taps(&b->head[input][half], band->node, &t, (float)gain);
  }
}

/// Decay over half a block, to or from its middle
static double
half_of(double loss)
{
  return steady_exp(-0.5 * PLATE_GRID_BLOCK * loss);
}

void
plate_modes_settle_band(const plate_modes* b,
                        plate_modes_band*  band,
                        const plate_decay* decay)
{
  const double loss = plate_decay_loss_at(decay, band->way) / b->rate_hz;
  band->loss[0] = band->loss[1] = loss;
  band->half[0] = band->half[1] = half_of(loss);
  plate_grid_spread(&b->grid, loss, &band->spread);
}

void
plate_modes_renew_band(plate_modes*       b,
                       plate_modes_band*  band,
                       const plate_decay* decay)
{
  // Of the block that comes in, the present one and the next, which is computed
  const double last = band->loss[1];
  const double next = plate_decay_loss_at(decay, band->way) / b->rate_hz;
  band->loss[1]     = band->loss[0];
  band->loss[0]     = next;

  const double half_last = band->half[1];
  const double half_now  = band->half[0];
  const double half_next = half_of(next);
  band->half[1]          = half_now;
  band->half[0]          = half_next;
  band->keep             = (float)(half_now * half_next);
  plate_grid_gather(&b->grid, last, half_last * half_now * half_now * half_next,
                    &band->gather);

  // The impulse response as it is at the end of the next block
  add_head(b, band, 1, half_next * half_next * half_now);
  if (next != band->loss[1]) {
    plate_grid_spread(&b->grid, next, &band->spread);
  }
  add_head(b, band, 0, half_next);
}
