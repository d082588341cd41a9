// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "gated_level.h"

#include <string.h>

/// How far below the mean of the blocks the relative gate lies
#define RELATIVE_GATE_DB 10.0

/// The gate moves by no more bins in one push, so that a push stays short; it
/// follows the mean, which moves slowly, without lag except for the first
/// blocks
#define MAX_BINS_PER_PUSH 64

static double
power_db(double mean_square)
{
  return mean_square > 1e-12 ? 0.5 * gain_to_db(mean_square)
                             : GATED_LEVEL_FLOOR_DB;
}

/// Place of a level in the histogram: the bin, and how far into it
static double
place_of(double db)
{
  const double place = (db - GATED_LEVEL_LOW_DB) * GATED_LEVEL_BINS_PER_DB;
  return clampd(place, 0.0, GATED_LEVEL_BINS - 1);
}

/// Returns the bin, emptied if it was filled before the last reset
static uint32_t
fresh_bin(gated_level* g, uint32_t bin)
{
  if (g->of[bin] != g->now) {
    g->of[bin]    = g->now;
    g->count[bin] = 0;
    g->sum[bin]   = 0.0;
  }
  return bin;
}

void
gated_level_reset(gated_level* g, double gate_db)
{
  // A restart may come with every block of an automated control, and clearing
  // 31 KiB of histogram would cost more than some stages: bins of an earlier
  // round count as empty instead.  After 2^32 rounds old ones could pass for
  // new.
  if (++g->now == 0) {
    memset(g->of, 0, sizeof(g->of));
    g->now = 1;
  }
  memset(g->hop, 0, sizeof(g->hop));
  g->gate_db      = gate_db;
  g->n_hops       = 0;
  g->n_blocks     = 0;
  g->energy       = 0.0;
  g->gate_bin     = 0;
  g->gate_place   = 0.0;
  g->n_above      = 0;
  g->energy_above = 0.0;
}

static double
block_mean_square(const gated_level* g)
{
  double sum = 0.0;
  for (int i = 0; i < GATED_LEVEL_HOPS; ++i) {
    sum += g->hop[i];
  }
  return sum / GATED_LEVEL_HOPS;
}

/// Moves the relative gate after the mean of the blocks
static void
move_gate(gated_level* g)
{
  const double mean_db  = power_db(g->energy / g->n_blocks);
  g->gate_place         = place_of(mean_db - RELATIVE_GATE_DB);
  const uint32_t target = (uint32_t)g->gate_place;

  for (int i = 0; i < MAX_BINS_PER_PUSH && g->gate_bin < target; ++i) {
    const uint32_t bin = fresh_bin(g, g->gate_bin);
    g->n_above -= g->count[bin];
    g->energy_above -= g->sum[bin];
    ++g->gate_bin;
  }
  for (int i = 0; i < MAX_BINS_PER_PUSH && g->gate_bin > target; ++i) {
    const uint32_t bin = fresh_bin(g, --g->gate_bin);
    g->n_above += g->count[bin];
    g->energy_above += g->sum[bin];
  }
  (void)fresh_bin(g, g->gate_bin); // It will be read
}

bool
gated_level_push(gated_level* g, double mean_square)
{
  memmove(g->hop, g->hop + 1, sizeof(g->hop) - sizeof(g->hop[0]));
  g->hop[GATED_LEVEL_HOPS - 1] = mean_square;
  if (g->n_hops < GATED_LEVEL_HOPS) {
    ++g->n_hops;
  }

  const double energy = block_mean_square(g);
  const double db     = power_db(energy);
  if (g->n_hops < GATED_LEVEL_HOPS || db < g->gate_db) {
    return false;
  }

  const uint32_t bin = fresh_bin(g, (uint32_t)place_of(db));
  if (g->n_blocks == 0) {
    g->gate_bin =
      (uint32_t)place_of(db - RELATIVE_GATE_DB); // Nothing to walk over yet
  }
  ++g->n_blocks;
  g->energy += energy;
  ++g->count[bin];
  g->sum[bin] += energy;
  if (bin >= g->gate_bin) {
    ++g->n_above;
    g->energy_above += energy;
  }
  move_gate(g);
  return true;
}

double
gated_level_db(const gated_level* g)
{
  if (g->n_above == 0) {
    return GATED_LEVEL_FLOOR_DB;
  }
  // Blocks in the gate's own bin are taken to be spread evenly over it
  const double below   = clampd(g->gate_place - g->gate_bin, 0.0, 1.0);
  const double n_above = g->n_above - below * g->count[g->gate_bin];
  const double energy  = g->energy_above - below * g->sum[g->gate_bin];
  return n_above > 0.0 ? power_db(energy / n_above) : GATED_LEVEL_FLOOR_DB;
}

double
gated_level_passed_s(const gated_level* g)
{
  return GATED_LEVEL_HOP_S * g->n_above;
}
