// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "tube_gain.h"

#include <stdbool.h>
#include <string.h>

// Most that bias and capacitors can add to a, beyond the input
#define MAX_HELD_V 8.0

static double
parallel(double r1, double r2)
{
  return r1 * r2 / (r1 + r2);
}

double
tube_parts_grid_ohm(const tube_parts* p)
{
  return parallel(p->source_ohm, p->leak_ohm) + p->stopper_ohm;
}

/// Gain from the source to a
static double
divider_of(const tube_parts* p)
{
  return p->leak_ohm / (p->source_ohm + p->leak_ohm);
}

double
tube_parts_plate_ohm(const tube_parts* p)
{
  return parallel(p->plate_ohm, p->load_ohm);
}

double
tube_parts_input_s(const tube_parts* p)
{
  return p->input_f * parallel(p->source_ohm, p->leak_ohm);
}

// At rest no current flows through the load.  Unknown are ia and vk:
//   ia = S(a, b)                    a = -vk - bias
//   vk = cathode_ohm (ia + ig)      b = supply - c ia - vk - bias
// with c = plate_ohm (1 - share of the plate resistor in its divider with load)
static tube_rest
rest_at(const tube_parts* p,
        double            supply_v,
        double            bias_v,
        double            ia,
        double            ig,
        double            vk)
{
  const double c = tube_parts_plate_ohm(p) * p->plate_ohm / p->load_ohm;
  return (tube_rest){
    .vk = vk,
    .va = supply_v - p->plate_ohm * ia,
    .ia = ia,
    .ig = ig,
    .a  = -vk - bias_v,
    .b  = supply_v - c * ia - vk - bias_v,
  };
}

tube_rest
tube_rest_near(const tube_table* t,
               const tube_parts* p,
               double            supply_v,
               double            bias_v,
               tube_rest         from)
{
  const double    c   = tube_parts_plate_ohm(p) * p->plate_ohm / p->load_ohm;
  const tube_rest now = rest_at(p, supply_v, bias_v, from.ia, from.ig, from.vk);
  const tube_solution s = tube_table_at(t, now.a, now.b);

  // Newton's method in two unknowns
  const double off_ia = now.ia - s.ia;
  const double off_vk = now.vk - p->cathode_ohm * (now.ia + s.ig);
  const double j11    = 1.0 + c * s.ia_b;
  const double j12    = s.ia_a + s.ia_b;
  const double j21    = -p->cathode_ohm;
  const double j22    = 1.0 + p->cathode_ohm * s.ig_a;
  const double det    = j11 * j22 - j12 * j21;
  const double ia     = now.ia - (off_ia * j22 - j12 * off_vk) / det;
  const double vk     = now.vk - (j11 * off_vk - j21 * off_ia) / det;
  return rest_at(p, supply_v, bias_v, fmax(ia, 0.0), s.ig, fmax(vk, 0.0));
}

tube_rest
tube_rest_find(const tube_table* t,
               const tube_parts* p,
               double            supply_v,
               double            bias_v)
{
  // From the supply divided over plate resistor, tube and cathode
  const double ia = supply_v / (2.5 * p->plate_ohm);
  tube_rest rest  = rest_at(p, supply_v, bias_v, ia, 0.0, p->cathode_ohm * ia);
  for (uint32_t i = 0; i < 50; ++i) {
    rest = tube_rest_near(t, p, supply_v, bias_v, rest);
  }
  return rest;
}

/// A one-pole filter:  y = pole y + now u + before (u of before)
typedef struct {
  double pole, now, before;
} trapezoid;

/// Trapezoidal low-pass with h = half a sample / its time constant
static trapezoid
low_pass(double h)
{
  const double in = h / (1.0 + h);
  return (trapezoid){.pole = (1.0 - h) / (1.0 + h), .now = in, .before = in};
}

/// Memory of the two filters before the grid
typedef struct {
  double u, low, grid;
} held;

/// Takes one sample through both filters in series: the first subtracts what
/// the coupling capacitor holds, the second is the input capacitance
static held
filter_step(held h, trapezoid c, trapezoid p, double scale, double x)
{
  const double low = c.pole * h.low + c.now * x + c.before * h.u;
  return (held){
    .u   = x,
    .low = low,
    .grid =
      p.pole * h.grid + scale * (p.now * (x - low) + p.before * (h.u - h.low)),
  };
}

/// Writes the response to `h` and to a 1 as sample `at` into a column, padded
/// with its last number; returns the last low
static double
answer(held      h,
       trapezoid c,
       trapezoid p,
       double    scale,
       uint32_t  at,
       uint32_t  group,
       double*   column)
{
  for (uint32_t i = 0; i < TUBE_GROUP_MAX; ++i) {
    if (i < group) {
      h = filter_step(h, c, p, scale, i == at ? 1.0 : 0.0);
    }
    column[i] = h.grid;
  }
  return h.low;
}

/// Writes the same to all lanes
static void
spread(double x, double* lanes)
{
  for (uint32_t i = 0; i < TUBE_GROUP_MAX; ++i) {
    lanes[i] = x;
  }
}

static void
init_filter(tube_gain* g, const tube_parts* parts, double rate_hz)
{
  trapezoid c = {0};
  if (parts->coupling_f > 0.0) {
    const double tau =
      parts->coupling_f * (parts->source_ohm + parts->leak_ohm);
    c = low_pass(0.5 / (tau * rate_hz));
  }
  trapezoid p = {.now = 1.0};
  if (parts->input_f > 0.0) {
    // Not warped to be exact at its corner, which is above the audio band
    p = low_pass(0.5 / (tube_parts_input_s(parts) * rate_hz));
  }

  tube_fixed* const f = &g->fixed;
  const double      d = divider_of(parts);
  const uint32_t    n = g->group_size;
  for (uint32_t k = 0; k < n; ++k) {
    spread(answer((held){0}, c, p, d, k, n, f->sample[k]), f->low_by_sample[k]);
  }
  spread(answer((held){.u = 1.0}, c, p, d, n, n, f->before), f->low_by_before);
  spread(answer((held){.low = 1.0}, c, p, d, n, n, f->low), f->low_by_low);
  (void)answer((held){.grid = 1.0}, c, p, d, n, n, f->grid);
}

/// Sets how the capacitors go on in a group
static void
init_drift(tube_fixed* f, uint32_t group)
{
  for (uint32_t i = 0; i < TUBE_GROUP_MAX; ++i) {
    // At the end of sample i, as a share of the group
    const double end      = fmin(i + 1.0, group) / group;
    const double bend     = 0.5 * (end + end * end);
    f->drift_by_rate[i]   = end + bend;
    f->drift_by_before[i] = bend;
    f->seen_by_rate[i]    = 1.0 + end + bend;
  }
}

/// Sets what adds up over the real samples of a group
static void
init_sums(tube_fixed* f,
          double      divider,
          double      plate,
          double      load_share,
          uint32_t    group)
{
  for (uint32_t i = 0; i < group; ++i) {
    const int64_t ones = -1;
    memcpy(&f->real[i], &ones, sizeof(ones));
    f->held_by_ia[i] = f->charge[TUBE_CATHODE];
    f->held_by_ig[i] =
      f->charge[TUBE_CATHODE] + divider * f->charge[TUBE_COUPLING];
    f->held_by_cathode[i]  = f->leak[TUBE_CATHODE] / group;
    f->held_by_coupling[i] = divider * f->leak[TUBE_COUPLING] / group;
    f->plate[i]            = plate;
    f->load_by_cap[i]      = load_share - 1.0;
    f->load_by_rate[i]     = (load_share - 1.0) * (i + 0.5) / group;
  }
}

void
tube_gain_init(tube_gain*        g,
               const tube_table* t,
               const tube_parts* p,
               tube_out          out,
               double            out_source_ohm,
               double            rate_hz,
               uint32_t          group)
{
  *g                  = (tube_gain){.table = t, .group_size = group};
  tube_fixed* const f = &g->fixed;
  init_filter(g, p, rate_hz);
  spread(TUBE_A_MAX - MAX_HELD_V, f->limit);
  spread(t->b_min, f->b_min);
  spread(t->rows_per_v, f->rows_per_v);
  spread(t->b_step, f->b_step);

  const double step_s     = 1.0 / rate_hz;
  const double divider    = divider_of(p);
  f->charge[TUBE_CATHODE] = step_s / p->cathode_f;
  f->leak[TUBE_CATHODE]   = group * step_s / (p->cathode_f * p->cathode_ohm);
  if (p->coupling_f > 0.0) {
    const double tau         = p->coupling_f * (p->source_ohm + p->leak_ohm);
    f->charge[TUBE_COUPLING] = step_s / p->coupling_f * divider;
    f->leak[TUBE_COUPLING]   = group * step_s / tau;
  }
  f->charge[TUBE_LOAD] = step_s / (p->load_f * p->load_ohm);

  spread(divider, f->divider);

  const double plate      = tube_parts_plate_ohm(p);
  const double load_share = plate / p->load_ohm;
  spread(load_share, f->load_share);
  spread(f->charge[TUBE_LOAD], f->load_charge);
  for (uint32_t i = 0; i < TUBE_GROUP_MAX; i += 2) {
    // From the start of a group to the middle of the next
    f->b_by_sums[i]     = 1.5 * f->charge[TUBE_LOAD] * load_share;
    f->b_by_sums[i + 1] = -1.5 * f->charge[TUBE_CATHODE];
  }
  init_drift(f, group);
  init_sums(f, divider, plate, load_share, group);

  const bool   source  = out == TUBE_OUT_SOURCE;
  const double by_load = source ? 1.0 + out_source_ohm / p->load_ohm : 1.0;
  spread(by_load * (load_share - 1.0) + (source ? 1.0 : 0.0), f->out_by_cap);
  spread(by_load * plate, f->out_by_ia);
}

void
tube_gain_reset(tube_gain* g, const tube_rest* rest)
{
  tube_memory* const m    = &g->memory;
  const tube_place   at   = tube_locate(rest->a);
  const int64_t      cell = at.cell;
  memset(m, 0, sizeof(*m));
  spread(at.off_v, m->off_v);
  spread(rest->a, m->a);
  spread(rest->ig, m->ig);
  for (uint32_t i = 0; i < TUBE_GROUP_MAX; ++i) {
    memcpy(&m->whole[i], &cell, sizeof(cell));
  }
}
