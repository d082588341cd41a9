// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "level_meter.h"

#include "common/core/fastmath.h"
#include "common/core/lanes.h"

#include <math.h>

#define HOP_S 0.1

void
level_meter_init(level_meter* m, double rate_hz)
{
  *m = (level_meter){.hop_frames = (uint32_t)lrint(HOP_S * rate_hz)};
  gated_mean_init(&m->windows, LEVEL_GATE_DBFS);
}

void
level_meter_clear(level_meter* m)
{
  gated_mean_clear(&m->windows);
}

static void
end_hop(level_meter* m)
{
  double window = 0.0;
  for (uint32_t i = 1; i < LEVEL_WINDOW_HOPS; ++i) {
    m->hops[i - 1] = m->hops[i];
    window += m->hops[i] / LEVEL_WINDOW_HOPS;
  }
  const double hop               = m->hop_sum / m->hop_frames;
  m->hops[LEVEL_WINDOW_HOPS - 1] = hop;
  if (++m->n_hops >= LEVEL_WINDOW_HOPS) {
    gated_mean_add(&m->windows, window + hop / LEVEL_WINDOW_HOPS);
  }
  m->hop_sum = 0.0;
  m->n_hop   = 0;
}

/// Returns the higher magnitude of each lane
static inline i32x4
higher(i32x4 top, f32x4 x)
{
  // Without their signs, floats are in the order of their bits
  const i32x4 magnitude = (i32x4)x & 0x7FFFFFFF;
  const i32x4 is_higher = magnitude > top;
  return (magnitude & is_higher) | (top & ~is_higher);
}

/// Four partial sums, each of every fourth frame
WIDE_CLONES double
level_sum_of_squares(const float* x, uint32_t n, float* peak)
{
  f64x4    sums = {0.0};
  i32x4    tops = {0};
  uint32_t i    = 0;
  for (; i + 4 <= n; i += 4) {
    const f32x4 now  = f32x4_load(x + i);
    const f64x4 wide = __builtin_convertvector(now, f64x4);
    sums += wide * wide;
    tops = higher(tops, now);
  }
  for (uint32_t k = 0; i < n; ++i, ++k) {
    sums[k] += (double)x[i] * (double)x[i];
    tops = higher(tops, f32x4_splat(x[i]));
  }
  const f32x4 found = (f32x4)tops;
  for (int k = 0; k < 4; ++k) {
    *peak = found[k] > *peak ? found[k] : *peak;
  }
  return (sums[0] + sums[1]) + (sums[2] + sums[3]);
}

bool
level_meter_add(level_meter*        m,
                const float* const* x,
                uint32_t            n_channels,
                uint32_t            n)
{
  bool is_finite = true;
  for (uint32_t i = 0; i < n;) {
    const uint32_t to_hop = m->hop_frames - m->n_hop;
    const uint32_t part   = n - i < to_hop ? n - i : to_hop;
    double         sum    = 0.0;
    for (uint32_t k = 0; k < n_channels; ++k) {
      sum += level_sum_of_squares(x[k] + i, part, &m->peak);
    }
    is_finite = is_finite && isfinite(sum);
    m->hop_sum += sum / n_channels;
    m->sum += sum / n_channels;
    m->n += part;
    m->n_hop += part;
    i += part;
    if (m->n_hop == m->hop_frames) {
      end_hop(m);
    }
  }
  return is_finite;
}

double
level_meter_gated_db(const level_meter* m)
{
  if (m->n_hops < LEVEL_WINDOW_HOPS) {
    const double all = m->n ? m->sum / (double)m->n : 0.0;
    return level_power_db(all >= m->windows.gate ? all : 0.0);
  }
  return level_power_db(gated_mean_power(&m->windows));
}

double
level_meter_peak_db(const level_meter* m)
{
  return level_power_db((double)m->peak * (double)m->peak);
}

double
level_power_db(double power)
{
  return power > 0.0 ? 10.0 * log10(power) : -(double)INFINITY;
}
