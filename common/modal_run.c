// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "modal_parts.h"

/// Groups that are worked on together, so that they stay in the first cache
#define CHUNK 32U

/// What the modes put out: real and imaginary part per output
#define PARTS (2U * MODAL_OUTPUTS)
typedef modal_lanes chunk_output[PARTS][CHUNK];

/// Values at the nodes around a band, or sums over its modes, for each lane
typedef struct {
  modal_lanes re[MODAL_TAPS], im[MODAL_TAPS];
} lane_taps;

/// Both rows times a matrix
static inline modal_taps
multiply(const modal_matrix* m, const modal_taps* x)
{
  modal_taps y = {0};
  for (uint32_t k = 0; k < 2; ++k) {
    modal_lanes re[2] = {{0}};
    modal_lanes im[2] = {{0}};
    for (uint32_t p = 0; p < MODAL_TAPS; ++p) {
      const modal_lanes x_re = modal_all(x->re[k][p]);
      const modal_lanes x_im = modal_all(x->im[k][p]);
      for (size_t h = 0; h < 2; ++h) {
        const modal_lanes m_re = modal_load(m->re[p] + 4 * h);
        const modal_lanes m_im = modal_load(m->im[p] + 4 * h);
        re[h] += m_re * x_re - m_im * x_im;
        im[h] += m_re * x_im + m_im * x_re;
      }
    }
    memcpy(y.re[k], re, sizeof(re));
    memcpy(y.im[k], im, sizeof(im));
  }
  return y;
}

/// Turn `n` groups by a block: what they keep, plus what the nodes put in.
/// They are heard a block after they will have turned.
static inline void
turn(const modal_group* group,
     modal_lanes*       re,
     modal_lanes*       im,
     uint32_t           n,
     float              keep,
     const lane_taps*   nodes,
     chunk_output       out)
{
  for (uint32_t g = 0; g < n; ++g) {
    const modal_group* const m    = &group[g];
    modal_lanes              a_re = keep * re[g];
    modal_lanes              a_im = keep * im[g];
    for (uint32_t p = 0; p < MODAL_TAPS; ++p) {
      a_re += m->weight[p] * nodes->re[p];
      a_im += m->weight[p] * nodes->im[p];
    }
    const modal_lanes b_re = m->turn_re * a_re - m->turn_im * a_im;
    const modal_lanes b_im = m->turn_re * a_im + m->turn_im * a_re;
    const modal_lanes c_re = m->turn_re * b_re - m->turn_im * b_im;
    const modal_lanes c_im = m->turn_re * b_im + m->turn_im * b_re;
    re[g]                  = b_re;
    im[g]                  = b_im;
    for (size_t k = 0; k < MODAL_OUTPUTS; ++k) {
      out[2 * k][g]     = m->gain[k] * c_re;
      out[2 * k + 1][g] = m->gain[k] * c_im;
    }
  }
}

/// Add one part of what `n` groups put out to the taps
static inline void
spread(const modal_group* group,
       const modal_lanes* part,
       uint32_t           n,
       modal_lanes*       sums)
{
  modal_lanes s[MODAL_TAPS];
  memcpy(s, sums, sizeof(s));
  for (uint32_t g = 0; g < n; ++g) {
    for (uint32_t p = 0; p < MODAL_TAPS; ++p) {
      s[p] += group[g].weight[p] * part[g];
    }
  }
  memcpy(sums, s, sizeof(s));
}

static inline float
sum_of(modal_lanes v)
{
  return (v[0] + v[1]) + (v[2] + v[3]);
}

/// The nodes around a band
static modal_taps
taps_of(const modal_nodes* nodes, uint32_t node)
{
  modal_taps t = {0};
  for (uint32_t k = 0; k < 2; ++k) {
    memcpy(t.re[k], nodes->re[k] + node, sizeof(t.re[k]));
    memcpy(t.im[k], nodes->im[k] + node, sizeof(t.im[k]));
  }
  return t;
}

static void
add_taps(modal_nodes* nodes, uint32_t node, const modal_taps* t, float gain)
{
  for (uint32_t k = 0; k < 2; ++k) {
    for (uint32_t p = 0; p < 8; ++p) {
      nodes->re[k][node + p] += gain * t->re[k][p];
      nodes->im[k][node + p] += gain * t->im[k][p];
    }
  }
}

/// All modes of a band: sums over them, per lane
static void
run_modes(modal*            b,
          const modal_band* band,
          const modal_taps* put_in,
          modal_lanes       sums[PARTS][MODAL_TAPS])
{
  for (uint32_t input = 0; input < MODAL_INPUTS; ++input) {
    lane_taps nodes;
    for (uint32_t p = 0; p < MODAL_TAPS; ++p) {
      nodes.re[p] = modal_all(put_in->re[input][p]);
      nodes.im[p] = modal_all(put_in->im[input][p]);
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
modal_run_band(modal* b, const modal_band* band)
{
  const modal_taps around = taps_of(&b->gathered, band->node);
  const modal_taps put_in = multiply(&band->gather, &around);

  modal_lanes sums[PARTS][MODAL_TAPS];
  memset(sums, 0, sizeof(sums));
  run_modes(b, band, &put_in, sums);

  modal_taps t = {0};
  for (size_t k = 0; k < MODAL_OUTPUTS; ++k) {
    for (uint32_t p = 0; p < MODAL_TAPS; ++p) {
      t.re[k][p] = sum_of(sums[2 * k][p]);
      t.im[k][p] = sum_of(sums[2 * k + 1][p]);
    }
  }
  const modal_taps put_out = multiply(&band->spread, &t);
  add_taps(&b->spread, band->node, &put_out, 1.0F);
}

/// Add what the modes answer to an impulse, `half` blocks later, to the head
static void
add_head(modal* b, const modal_band* band, uint32_t half, double gain)
{
  for (uint32_t input = 0; input < MODAL_INPUTS; ++input) {
    const modal_taps t = multiply(&band->spread, &band->head[input][half]);
    add_taps(&b->head[input][half], band->node, &t, (float)gain);
  }
}

/// Half a block, to or from its middle
static double
half_of(double loss)
{
  return exp(-0.5 * MODAL_BLOCK * loss);
}

void
modal_settle_band(const modal* b, modal_band* band, const modal_decay* decay)
{
  const double loss = modal_decay_loss_at(decay, band->way) / b->rate_hz;
  band->loss[0] = band->loss[1] = loss;
  band->half[0] = band->half[1] = half_of(loss);
  modal_grid_spread(&b->grid, loss, &band->spread);
}

void
modal_renew_band(modal* b, modal_band* band, const modal_decay* decay)
{
  // Of the block that comes in, the present one and the next, which is computed
  const double last = band->loss[1];
  const double next = modal_decay_loss_at(decay, band->way) / b->rate_hz;
  band->loss[1]     = band->loss[0];
  band->loss[0]     = next;

  const double half_last = band->half[1];
  const double half_now  = band->half[0];
  const double half_next = half_of(next);
  band->half[1]          = half_now;
  band->half[0]          = half_next;
  band->keep             = (float)(half_now * half_next);
  modal_grid_gather(&b->grid, last, half_last * half_now * half_now * half_next,
                    &band->gather);

  // The impulse response as it is at the end of the next block
  add_head(b, band, 1, half_next * half_next * half_now);
  modal_grid_spread(&b->grid, next, &band->spread);
  add_head(b, band, 0, half_next);
}
