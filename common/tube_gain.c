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

/// A one-pole filter:  y = pole y + now u + before (u of before)
typedef struct {
  double pole, now, before;
} one_pole;

/// Trapezoidal low-pass with h = half a sample / its time constant
static one_pole
low_pass(double h)
{
  const double in = h / (1.0 + h);
  return (one_pole){.pole = (1.0 - h) / (1.0 + h), .now = in, .before = in};
}

/// What the two filters in front of the grid hold
typedef struct {
  double u, low, grid;
} held;

/// One sample through the filters one behind the other: the first takes what
/// the coupling capacitor holds, the second is the input capacitance
static held
filter_step(held h, one_pole c, one_pole p, double scale, double x)
{
  const double low = c.pole * h.low + c.now * x + c.before * h.u;
  return (held){
    .u   = x,
    .low = low,
    .grid =
      p.pole * h.grid + scale * (p.now * (x - low) + p.before * (h.u - h.low)),
  };
}

/// Answer to `h` and to a 1 as sample `at`, into a column; returns the last low
static double
answer(held     h,
       one_pole c,
       one_pole p,
       double   scale,
       uint32_t at,
       uint32_t group,
       double*  column)
{
  for (uint32_t i = 0; i < group; ++i) {
    h         = filter_step(h, c, p, scale, i == at ? 1.0 : 0.0);
    column[i] = h.grid;
  }
  return h.low;
}

static void
init_filter(tube_gain* g, const tube_parts* parts, double rate_hz)
{
  one_pole c = {0};
  if (parts->coupling_f > 0.0) {
    const double tau =
      parts->coupling_f * (parts->source_ohm + parts->leak_ohm);
    c = low_pass(0.5 / (tau * rate_hz));
  }
  one_pole p = {.now = 1.0};
  if (parts->input_f > 0.0) {
    // Not bent to be exact at its corner, which is above the audio band
    p = low_pass(0.5 / (tube_parts_input_s(parts) * rate_hz));
  }

  tube_filter* const f = &g->filter;
  const double       d = g->divider;
  const uint32_t     n = g->group;
  for (uint32_t k = 0; k < n; ++k) {
    f->low_by_sample[k] = answer((held){0}, c, p, d, k, n, f->sample[k]);
  }
  f->low_by_before = answer((held){.u = 1.0}, c, p, d, n, n, f->before);
  f->low_by_low    = answer((held){.low = 1.0}, c, p, d, n, n, f->low);
  (void)answer((held){.grid = 1.0}, c, p, d, n, n, f->grid);
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
  *g         = (tube_gain){.table = t, .group = group};
  g->divider = p->leak_ohm / (p->source_ohm + p->leak_ohm);
  g->limit   = TUBE_A_MAX - MAX_HELD_V;
  init_filter(g, p, rate_hz);

  const double step_s     = 1.0 / rate_hz;
  g->charge[TUBE_CATHODE] = step_s / p->cathode_f;
  g->leak[TUBE_CATHODE]   = step_s / (p->cathode_f * p->cathode_ohm);
  if (p->coupling_f > 0.0) {
    const double tau         = p->coupling_f * (p->source_ohm + p->leak_ohm);
    g->charge[TUBE_COUPLING] = step_s / p->coupling_f * g->divider;
    g->leak[TUBE_COUPLING]   = step_s / tau;
  }
  g->held_per_ig =
    g->charge[TUBE_CATHODE] + g->divider * g->charge[TUBE_COUPLING];
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
  g->u = g->low = g->grid = g->rate_before = 0.0;
  memset(g->cap, 0, sizeof(g->cap));
  memset(g->rate, 0, sizeof(g->rate));
  memset(g->off, 0, sizeof(g->off));

  const tube_place at = tube_locate(rest->a);
  const double     x  = at.share;
  const double     r  = 1.0 - x;
  tube_from* const f  = &g->from;
  const uint32_t   i  = g->group - 1;
  f->f_rise[i]        = x * x * (3.0 - 2.0 * x);
  f->f_left[i]        = x * r * at.width * r;
  f->f_right[i]       = -x * r * at.width * x;
  f->s_rise[i]        = 6.0 * x * r / at.width;
  f->s_left[i]        = r * (1.0 - 3.0 * x);
  f->s_right[i]       = x * (3.0 * x - 2.0);
  f->cell             = at.cell;
  g->a[i]             = rest->a;
  g->ig[i]            = rest->ig;
}
