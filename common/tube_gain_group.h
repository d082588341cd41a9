// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

// The steps of a group of samples through a stage, besides the table's.  No
// guard, as in tube_gain_table.h.

#include "tube_gain_table.h"

/// Linear filters in front of the grid
INLINE void
NAME(filter)(tube_gain* g, work* k, const double* in, uint32_t n)
{
  const tube_filter* const f    = &g->filter;
  const double             u    = g->u;
  const double             low  = g->low;
  const double             grid = g->grid;

  group by_u, by_low, by_grid, column[TUBE_GROUP_MAX];
  NAME(load)(f->before, &by_u, TUBE_GROUP_MAX);
  NAME(load)(f->low, &by_low, TUBE_GROUP_MAX);
  NAME(load)(f->grid, &by_grid, TUBE_GROUP_MAX);
  NAME(load)(f->sample[0], &column[0], TUBE_GROUP_MAX);
  for (uint32_t i = 1; i < n; ++i) {
    NAME(load)(f->sample[i], &column[i], TUBE_GROUP_MAX);
  }
  EACH(h)
  {
    vec sum = column[0].v[h] * in[0];
    if (n > 1) {
      sum += column[1].v[h] * in[1];
    }
    if (n > 2) {
      sum += column[2].v[h] * in[2] + column[3].v[h] * in[3];
    }
    k->u.v[h] = sum + (by_u.v[h] * u + by_low.v[h] * low) + by_grid.v[h] * grid;
  }
  g->grid = NAME(lane)(&k->u, n - 1);
  g->u    = in[n - 1];

  double next = f->low_by_before * u + f->low_by_low * low;
  for (uint32_t i = 0; i < n; ++i) {
    next += f->low_by_sample[i] * in[i];
  }
  g->low = next;
  EACH(h)
  {
    const mask ok = k->u.v[h] < g->limit;
    k->u.v[h]     = SELECT(ok, k->u.v[h], ALL(g->limit));
  }
}

/// Where the grid source will be, if its capacitors go on as in the last two
/// groups
INLINE void
NAME(expect)(tube_gain* g, work* k, uint32_t n)
{
#if LANES == 4
  static const group end = {{{1.0, 2.0, 3.0, 4.0}}};
#else
  static const group end    = {{{1.0, 2.0}, {3.0, 4.0}}};
#endif
  const double rate =
    g->rate[TUBE_CATHODE] + g->divider * g->rate[TUBE_COUPLING];
  const double held = g->cap[TUBE_CATHODE] + g->divider * g->cap[TUBE_COUPLING];
  const double start  = NAME(lane)(&k->rest, NAME(REST_A)) - held;
  const double change = rate - g->rate_before;
  g->rate_before      = rate;
  EACH(h)
  {
    const vec bend = 0.5 * end.v[h] + (0.5 / n) * end.v[h] * end.v[h];
    k->drift.v[h]  = end.v[h] * rate + bend * change;
    k->a.v[h]      = (k->u.v[h] + start) - k->drift.v[h];
  }
}

/// Mean grid current, less that at rest
INLINE void
NAME(take_grid)(tube_gain* g, work* k, uint32_t n)
{
  pair ends[TUBE_GROUP_MAX];
  for (uint32_t i = 0; i < TUBE_GROUP_MAX; ++i) {
    ends[i] = *(const pair_at_8*)(g->table->grid + NAME(cell)(k, i, n));
  }
  group even, odd, left, right, before;
  NAME(join)(ends[0], ends[2], &even);
  NAME(join)(ends[1], ends[3], &odd);
  NAME(split)(&even, &odd, &left, &right);
  EACH(h)
  {
    left.v[h] += k->at.share.v[h] * (right.v[h] - left.v[h]);
  }
  NAME(behind_last)(g->ig, n, &left, &before);
  NAME(store)(&left, g->ig, TUBE_GROUP_MAX);
  const double rest = NAME(lane)(&k->rest, NAME(REST_IG));
  EACH(h)
  {
    k->ig.v[h] = 0.5 * (left.v[h] + before.v[h]) - rest;
  }
}

/// 1 / step of the grid source, to each sample
INLINE void
NAME(invert)(tube_gain* g, work* k, uint32_t n)
{
  group before;
  NAME(behind_last)(g->a, n, &k->a, &before);
  EACH(h)
  {
    const vec step   = k->a.v[h] - before.v[h];
    k->slow.v[h]     = (vec)((mask)step & INT64_MAX) <= MIN_MOTION_V;
    k->per_step.v[h] = 1.0 / SELECT(k->slow.v[h], ALL(1.0), step);
  }
  NAME(store)(&k->a, g->a, TUBE_GROUP_MAX);
}

/// Mean plate current, less that at rest, and its mean slope
INLINE void
NAME(take_mean)(tube_gain* g, work* k, uint32_t n)
{
  (void)g;
  (void)n;
  group f_before, s_before;
  NAME(behind)(k->f_start, &k->f, &f_before);
  NAME(behind)(k->s_start, &k->s, &s_before);
  const double rest = NAME(lane)(&k->rest, NAME(REST_IA));
  EACH(h)
  {
    const vec mean = (k->f.v[h] - f_before.v[h]) * k->per_step.v[h];
    k->ia.v[h]     = SELECT(k->slow.v[h], k->s.v[h], mean) - rest;
    k->slope.v[h]  = (k->s.v[h] - s_before.v[h]) * k->per_step.v[h];
  }
}

/// Put right what the capacitors did otherwise than expected, to first order
INLINE void
NAME(correct)(tube_gain* g, work* k, uint32_t n)
{
  const double leak = NAME(lane)(&k->leak, TUBE_CATHODE) +
                      g->divider * NAME(lane)(&k->leak, TUBE_COUPLING);
  const double per_ia = g->charge[TUBE_CATHODE];
  const double per_ig = g->held_per_ig;

  group moved, off, before;
  EACH(h)
  {
    moved.v[h] = per_ia * k->ia.v[h] + (per_ig * k->ig.v[h] - leak);
  }
  NAME(running_sum)(&moved, &off);
  EACH(h)
  {
    off.v[h] -= k->drift.v[h];
  }
  NAME(behind_last)(g->off, n, &off, &before);
  EACH(h)
  {
    k->ia.v[h] -= k->slope.v[h] * (0.5 * (off.v[h] + before.v[h]));
  }
  NAME(store)(&off, g->off, TUBE_GROUP_MAX);
}

/// Output voltage, and the load's; means over a sample belong to its middle
INLINE void
NAME(output)(tube_gain* g, work* k, uint32_t n)
{
#if LANES == 4
  static const group centre = {{{0.5, 1.5, 2.5, 3.5}}};
#else
  static const group centre = {{{0.5, 1.5}, {2.5, 3.5}}};
#endif
  (void)n;
  const double cap    = g->cap[TUBE_LOAD];
  const double rate   = g->rate[TUBE_LOAD];
  const double charge = g->charge[TUBE_LOAD];
  const double share  = g->load_share - 1.0;

  // With the capacitor as it was expected, then as it was
  group load, so_far;
  EACH(h)
  {
    load.v[h] = share * (cap + centre.v[h] * rate) - g->plate * k->ia.v[h];
  }
  NAME(running_sum)(&load, &so_far);
  EACH(h)
  {
    const vec now = cap + charge * (so_far.v[h] - 0.5 * load.v[h]);
    k->load.v[h]  = share * now - g->plate * k->ia.v[h];
    k->out.v[h]   = g->out_load * k->load.v[h] + g->out_cap * now;
  }
}

/// What the capacitors did in this group
INLINE void
NAME(charge)(tube_gain* g, work* k, uint32_t n)
{
  group both, sum, cap, charge, rate;
  NAME(keep)(&k->ia, n);
  NAME(keep)(&k->ig, n);
  NAME(keep)(&k->load, n);
  EACH(h)
  {
    both.v[h] = k->ia.v[h] + k->ig.v[h];
  }
  NAME(totals)(&both, &k->ig, &k->load, &sum);
  NAME(load)(g->cap, &cap, TUBE_GROUP_MAX);
  NAME(load)(g->charge, &charge, TUBE_GROUP_MAX);
  EACH(h)
  {
    rate.v[h] = (1.0 / n) * sum.v[h] * charge.v[h] - k->leak.v[h];
    cap.v[h] += n * rate.v[h];
  }
  NAME(store)(&cap, g->cap, TUBE_GROUP_MAX);
  NAME(store)(&rate, g->rate, TUBE_GROUP_MAX);
}
