// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "loudness_bank.h"

#include "common/core/dsp.h"
#include "common/core/fastmath.h"
#include "presets-demo/render/audio/gated_mean.h"
#include "presets-demo/render/audio/level_meter.h"
#include "presets-demo/render/program/alloc.h"

#include <math.h>
#include <stdlib.h>

#define HOP_S       0.1
#define WINDOW_HOPS 4U

/// BS.1770: so that 997 Hz at 0 dBFS in one channel reads -3.01 LKFS
#define OFFSET_LU (-0.691)
#define GATE_LUFS (-70.0)

// Analog parameters of the two filters, recovered from the coefficients that
// the standard prints for 48 kHz (as common/level/loudness.c)
#define SHELF_HZ         1681.974450955533
#define SHELF_DB         3.999843853973347
#define SHELF_Q          0.7071752369554196
#define SHELF_BAND_POWER 0.4996667741545416
#define PASS_HZ          38.13547087602444
#define PASS_Q           0.5003270373238773

/// The filters; the high-pass has the zeros 1, -2, 1
typedef struct {
  double b[3], a[2]; ///< Shelf
  double p[2];       ///< High-pass
} k_weighting;

/// Four channels, at any address that a double may have: how a wide type is
/// aligned depends on compiler options
typedef f64x4 k_state __attribute__((aligned(8)));

typedef struct {
  k_state shelf[2], pass[2];
  k_state sum; ///< Of weighted squares since the last hop
} k_lanes;

typedef struct {
  uint32_t   first, n_channels;
  double     hops[WINDOW_HOPS]; ///< Mean squares of the last
  gated_mean windows;
} loud_signal;

struct loudness_bank {
  k_weighting  filters;
  uint32_t     hop_frames, n_hop; ///< 100 ms; frames of the unfinished hop
  uint64_t     n_hops;
  k_lanes*     lanes;
  uint32_t     n_lanes; ///< Of four channels
  loud_signal* signals;
  uint32_t     n_signals;
};

static k_weighting
design(double rate_hz)
{
  const double kp = tan(DSP_PI * PASS_HZ / rate_hz);
  const double a0 = 1.0 + kp / PASS_Q + kp * kp;
  const double ks = tan(DSP_PI * SHELF_HZ / rate_hz);
  const double s0 = 1.0 + ks / SHELF_Q + ks * ks;
  const double vh = pow(10.0, SHELF_DB / 20.0);
  const double vb = pow(vh, SHELF_BAND_POWER);
  return (k_weighting){
    .b = {(vh + vb * ks / SHELF_Q + ks * ks) / s0, 2.0 * (ks * ks - vh) / s0,
          (vh - vb * ks / SHELF_Q + ks * ks) / s0},
    .a = {2.0 * (ks * ks - 1.0) / s0, (1.0 - ks / SHELF_Q + ks * ks) / s0},
    .p = {2.0 * (kp * kp - 1.0) / a0, (1.0 - kp / PASS_Q + kp * kp) / a0},
  };
}

loudness_bank*
loudness_bank_new(const uint32_t* n_channels,
                  uint32_t        n_signals,
                  double          rate_hz)
{
  loudness_bank* const b  = alloc_new(1, sizeof(*b));
  uint32_t             at = 0;
  b->filters              = design(rate_hz);
  b->hop_frames           = (uint32_t)lrint(HOP_S * rate_hz);
  b->n_signals            = n_signals;
  b->signals              = alloc_new(n_signals, sizeof(*b->signals));
  for (uint32_t i = 0; i < n_signals; ++i) {
    b->signals[i] = (loud_signal){.first = at, .n_channels = n_channels[i]};
    gated_mean_init(&b->signals[i].windows, GATE_LUFS - OFFSET_LU);
    at += n_channels[i];
  }
  b->n_lanes = (at + 3U) / 4U;
  b->lanes   = alloc_new(b->n_lanes, sizeof(*b->lanes));
  return b;
}

void
loudness_bank_free(loudness_bank* b)
{
  if (b) {
    for (uint32_t i = 0; i < b->n_signals; ++i) {
      gated_mean_clear(&b->signals[i].windows);
    }
    free(b->signals);
    free(b->lanes);
    free(b);
  }
}

/// Filters four lanes of `n` rows and sums the squares: transposed direct forms
WIDE_CLONES static void
filter(k_lanes*           l,
       const k_weighting* w,
       const signal_row*  rows,
       uint32_t           half,
       uint32_t           n)
{
  k_lanes s = *l;
  for (uint32_t i = 0; i < n; ++i) {
    f32x4 in;
    memcpy(&in, (const float*)&rows[i] + (size_t)4 * half, sizeof(in));
    const f64x4 x = __builtin_convertvector(in, f64x4);
    const f64x4 y = w->b[0] * x + s.shelf[0];
    s.shelf[0]    = (w->b[1] * x + s.shelf[1]) - w->a[0] * y;
    s.shelf[1]    = w->b[2] * x - w->a[1] * y;
    const f64x4 z = y + s.pass[0];
    s.pass[0]     = (s.pass[1] - 2.0 * y) - w->p[0] * z;
    s.pass[1]     = y - w->p[1] * z;
    s.sum += z * z;
  }
  *l = s;
}

static double
lane_sum(const loudness_bank* b, uint32_t channel)
{
  return b->lanes[channel / 4U].sum[channel % 4U];
}

/// Takes the next hop of a signal; both channels have the weight 1
static void
end_hop(loudness_bank* b, loud_signal* s)
{
  double sum = lane_sum(b, s->first);
  sum += s->n_channels == 1 ? sum : lane_sum(b, s->first + 1U);
  s->hops[b->n_hops % WINDOW_HOPS] = sum / b->hop_frames;
  if (b->n_hops + 1 >= WINDOW_HOPS) {
    double window = 0.0;
    for (uint32_t i = 1; i <= WINDOW_HOPS; ++i) { // The oldest first
      window += s->hops[(b->n_hops + i) % WINDOW_HOPS];
    }
    gated_mean_add(&s->windows, window / WINDOW_HOPS);
  }
}

/// Clears what is left of a sound far below any other, before it is denormal
static void
flush(k_state* state)
{
  for (int k = 0; k < 4; ++k) {
    if (fabs((*state)[k]) < 1e-40) {
      (*state)[k] = 0.0;
    }
  }
}

static void
end_hops(loudness_bank* b)
{
  for (uint32_t i = 0; i < b->n_signals; ++i) {
    end_hop(b, &b->signals[i]);
  }
  for (uint32_t i = 0; i < b->n_lanes; ++i) {
    k_lanes* const l = &b->lanes[i];
    l->sum           = (f64x4){0.0};
    for (int k = 0; k < 2; ++k) {
      flush(&l->shelf[k]);
      flush(&l->pass[k]);
    }
  }
  ++b->n_hops;
  b->n_hop = 0;
}

void
loudness_bank_add(loudness_bank* b, const signal_rows* rows, uint32_t n)
{
  for (uint32_t i = 0; i < n;) {
    const uint32_t to_hop = b->hop_frames - b->n_hop;
    const uint32_t now    = n - i < to_hop ? n - i : to_hop;
    for (uint32_t k = 0; k < b->n_lanes; ++k) {
      filter(&b->lanes[k], &b->filters, signal_rows_group(rows, k / 2U) + i,
             k % 2U, now);
    }
    b->n_hop += now;
    i += now;
    if (b->n_hop == b->hop_frames) {
      end_hops(b);
    }
  }
}

double
loudness_bank_lufs(const loudness_bank* b, uint32_t signal)
{
  return OFFSET_LU +
         level_power_db(gated_mean_power(&b->signals[signal].windows));
}
