// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "tube_gain.h"

#include <string.h>

// What bias and capacitors can add to a above what the input does
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

static tube_rest
rest_step(const tube_table* t,
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
tube_rest_near(const tube_table* t,
               const tube_parts* p,
               double            supply_v,
               double            bias_v,
               tube_rest         from)
{
  const tube_rest once = rest_step(t, p, supply_v, bias_v, from);
  return rest_step(t, p, supply_v, bias_v, once);
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
    rest = rest_step(t, p, supply_v, bias_v, rest);
  }
  return rest;
}

/// Trapezoidal low-pass with h = half a sample / its time constant
static tube_pole
low_pass(double h)
{
  const double in = h / (1.0 + h);
  return (tube_pole){.pole = (1.0 - h) / (1.0 + h), .now = in, .before = in};
}

static void
init_filters(tube_gain* g, const tube_parts* p, double rate_hz)
{
  g->coupling_pole = (tube_pole){0};
  if (p->coupling_f > 0.0) {
    const double tau = p->coupling_f * (p->source_ohm + p->leak_ohm);
    g->coupling_pole = low_pass(0.5 / (tau * rate_hz));
  }

  g->input_pole = (tube_pole){.now = 1.0};
  if (p->input_f > 0.0) {
    // Not bent to be exact at its corner, which is above the audio band
    g->input_pole = low_pass(0.5 / (tube_parts_input_s(p) * rate_hz));
  }
}

void
tube_gain_init(tube_gain*        g,
               const tube_table* t,
               const tube_parts* p,
               tube_out          out,
               double            out_source_ohm,
               double            rate_hz)
{
  *g         = (tube_gain){.table = t};
  g->divider = p->leak_ohm / (p->source_ohm + p->leak_ohm);
  g->limit   = (TUBE_A_MAX - MAX_HELD_V) / g->divider;
  init_filters(g, p, rate_hz);

  const double step_s     = 1.0 / rate_hz;
  g->charge[TUBE_CATHODE] = step_s / p->cathode_f;
  g->leak[TUBE_CATHODE]   = step_s / (p->cathode_f * p->cathode_ohm);
  if (p->coupling_f > 0.0) {
    const double tau         = p->coupling_f * (p->source_ohm + p->leak_ohm);
    g->charge[TUBE_COUPLING] = step_s / p->coupling_f * g->divider;
    g->leak[TUBE_COUPLING]   = step_s / tau;
  }
  g->charge[TUBE_LOAD] = step_s / (p->load_f * p->load_ohm);
  g->plate             = tube_parts_plate_ohm(p);
  g->load_share        = g->plate / p->load_ohm;

  g->out_load = 1.0;
  g->out_cap  = 0.0;
  if (out == TUBE_OUT_SOURCE) {
    g->out_load = 1.0 + out_source_ohm / p->load_ohm;
    g->out_cap  = 1.0;
  }
}

void
tube_gain_reset(tube_gain* g, const tube_rest* rest)
{
  const tube_place at = tube_locate(rest->a);

  g->u = g->low = g->high = g->grid = 0.0;
  memset(g->cap, 0, sizeof(g->cap));
  memset(g->rate, 0, sizeof(g->rate));
  g->rate_before = g->off = 0.0;
  g->a                    = rest->a;
  g->from = (tube_from){at.share, at.width, 1.0 / at.width, at.cell};
  g->ig   = rest->ig;
}
