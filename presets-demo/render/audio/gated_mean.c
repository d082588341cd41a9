// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "gated_mean.h"

#include "presets-demo/render/program/alloc.h"

#include <math.h>
#include <stdlib.h>

#define RELATIVE_GATE 0.1 // -10 dB
#define BINS_PER_DB   20.0
#define N_BINS        2640U // 132 dB

void
gated_mean_init(gated_mean* g, double gate_db)
{
  *g = (gated_mean){.gate = pow(10.0, gate_db / 10.0)};
}

void
gated_mean_clear(gated_mean* g)
{
  free(g->windows);
  free(g->bins);
  *g = (gated_mean){.gate = g->gate};
}

/// Returns how far above the absolute gate a power is, in bins
static double
place_of(const gated_mean* g, double power)
{
  const double place = BINS_PER_DB * 10.0 * log10(power / g->gate);
  return fmin(fmax(place, 0.0), N_BINS - 1.0);
}

static void
count(gated_mean* g, double power)
{
  ++g->bins[(uint32_t)place_of(g, power)];
}

/// Counts what was kept window by window
static void
begin_bins(gated_mean* g)
{
  g->bins = alloc_new(N_BINS, sizeof(*g->bins));
  for (uint32_t i = 0; i < GATED_MEAN_EXACT; ++i) {
    count(g, g->windows[i]);
  }
  free(g->windows);
  g->windows = NULL;
}

void
gated_mean_add(gated_mean* g, double power)
{
  if (!(power >= g->gate)) {
    return;
  }
  if (g->n == GATED_MEAN_EXACT) {
    begin_bins(g);
  }
  if (g->bins) {
    count(g, power);
  } else {
    if (g->n == g->room) {
      g->room    = g->room ? 2 * g->room : 64;
      g->windows = alloc_grow(g->windows, g->room, sizeof(*g->windows));
    }
    g->windows[g->n] = power;
  }
  g->sum += power;
  ++g->n;
}

static double
exact_mean_above(const gated_mean* g, double gate)
{
  double   sum = 0.0;
  uint32_t n   = 0;
  for (uint32_t i = 0; i < g->n; ++i) {
    if (g->windows[i] >= gate) {
      sum += g->windows[i];
      ++n;
    }
  }
  return n ? sum / n : 0.0;
}

/// Takes the bins below the gate from the sum; windows in the gate's own bin
/// are taken to be spread evenly over it
static double
mean_above(const gated_mean* g, double gate)
{
  const double   place = place_of(g, gate);
  const uint32_t own   = (uint32_t)place;
  double         sum   = g->sum;
  double         n     = (double)g->n;
  for (uint32_t i = 0; i <= own; ++i) {
    const double share = i < own ? 1.0 : place - own;
    const double out   = share * g->bins[i];
    const double level = (i + 0.5 * share) / (10.0 * BINS_PER_DB);
    sum -= out * g->gate * pow(10.0, level);
    n -= out;
  }
  return n > 0.0 ? sum / n : 0.0;
}

double
gated_mean_power(const gated_mean* g)
{
  if (!g->n) {
    return 0.0;
  }
  const double relative = RELATIVE_GATE * (g->sum / (double)g->n);
  const double gate     = fmax(g->gate, relative);
  return g->bins ? mean_above(g, gate) : exact_mean_above(g, gate);
}
