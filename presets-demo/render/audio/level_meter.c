// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "level_meter.h"

#include "presets-demo/render/program/alloc.h"

#include <math.h>
#include <stdlib.h>

#define WINDOW_HOPS      4U // 400 ms
#define RELATIVE_GATE_DB (-10.0)

void
level_meter_init(level_meter* m, double rate_hz)
{
  *m = (level_meter){.hop_frames = (uint32_t)lrint(rate_hz / 10.0)};
}

void
level_meter_clear(level_meter* m)
{
  free(m->hops);
  *m = (level_meter){.hops = NULL};
}

static void
end_hop(level_meter* m)
{
  if (m->n_hops == m->room) {
    m->room = m->room ? 2 * m->room : 256;
    m->hops = alloc_grow(m->hops, m->room, sizeof(*m->hops));
  }
  m->hops[m->n_hops++] = m->hop_sum / m->hop_frames;
  m->hop_sum           = 0.0;
  m->n_hop             = 0;
}

static double
sum_of_squares(const float* x, uint32_t n, float* peak)
{
  double sum = 0.0;
  float  top = *peak;
  for (uint32_t i = 0; i < n; ++i) {
    const float magnitude = fabsf(x[i]);
    sum += (double)x[i] * (double)x[i];
    top = magnitude > top ? magnitude : top;
  }
  *peak = top;
  return sum;
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
      sum += sum_of_squares(x[k] + i, part, &m->peak);
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

/// Returns the mean of the windows at or above `gate`; 0 if there are none
static double
mean_above(const level_meter* m, double gate)
{
  double   sum = 0.0;
  uint32_t n   = 0;
  for (size_t i = 0; i + WINDOW_HOPS <= m->n_hops; ++i) {
    double window = 0.0;
    for (size_t k = 0; k < WINDOW_HOPS; ++k) {
      window += m->hops[i + k] / WINDOW_HOPS;
    }
    if (window >= gate) {
      sum += window;
      ++n;
    }
  }
  return n ? sum / n : 0.0;
}

double
level_meter_gated_db(const level_meter* m)
{
  const double absolute = pow(10.0, LEVEL_GATE_DBFS / 10.0);
  if (m->n_hops < WINDOW_HOPS) {
    const double all = m->n ? m->sum / (double)m->n : 0.0;
    return level_power_db(all >= absolute ? all : 0.0);
  }
  const double relative =
    mean_above(m, absolute) * pow(10.0, RELATIVE_GATE_DB / 10.0);
  return level_power_db(mean_above(m, fmax(absolute, relative)));
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
