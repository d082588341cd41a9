// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

// The steps of a group of samples through a stage.  No guard: tube_gain_run.c
// includes this once per width of vector.

#include "tube_gain_lanes.h"

/// Where the values of a lie on their axis
typedef struct {
  group   share, rest; ///< Of the cell, and of what remains of it
  group   width, per_width;
  int32_t cell[TUBE_GROUP_MAX];
} NAME(places);

/// Weights over b of {F, S, F_b, S_b} in the row below b and in that above
typedef struct {
  group below, above;
} NAME(weights);

/// A group of one stage at work, between the steps
typedef struct {
  group rest;  ///< Operating point: ia, ig, a, b
  group leak;  ///< Of the capacitors, as they are ordered
  group u;     ///< What the input and the linear filters make of it ...
  group drift; ///< ... and what the capacitors will take off it
  group a;     ///< The grid source
  NAME(weights) w;
  NAME(places) at;
  group p, dp, q, dq;   ///< F and S at the nodes below and above it
  group f, s;           ///< F and S there
  group per_step;       ///< 1 / step of the grid source, to each sample
  NAME(masks) slow;     ///< Where that is too little for a quotient
  group  ia, ig, slope; ///< Mean currents over the steps, less those at rest
  group  load, out;
  double f_start, s_start; ///< F and S where the grid source comes from
  const tube_node* low;    ///< Row below b
} NAME(work);

/// Lanes of the operating point
enum { NAME(REST_IA), NAME(REST_IG), NAME(REST_A), NAME(REST_B) };

#define places  NAME(places)
#define weights NAME(weights)
#define work    NAME(work)

/// Row and weights for b, which moves so little that a group sees its middle
INLINE void
NAME(take_row)(tube_gain* g, work* k, uint32_t n)
{
  const tube_table* const t = g->table;

  group cap, rate, leak;
  NAME(load)(g->cap, &cap, TUBE_GROUP_MAX);
  NAME(load)(g->rate, &rate, TUBE_GROUP_MAX);
  NAME(load)(g->leak, &leak, TUBE_GROUP_MAX);
  EACH(h)
  {
    cap.v[h] += (0.5 * n) * rate.v[h];
    k->leak.v[h] = leak.v[h] * cap.v[h];
  }
  const double b = NAME(lane)(&k->rest, NAME(REST_B)) +
                   g->load_share * NAME(lane)(&cap, TUBE_LOAD) -
                   NAME(lane)(&cap, TUBE_CATHODE);

  const double  at   = (b - t->b_min) * t->rows_per_v;
  const int32_t cell = (int32_t)at;
  const int32_t top  = TUBE_B_ROWS - 2;
  const int32_t row  = cell < 0 ? 0 : cell > top ? top : cell;
  const double  y    = at - row;
  const double  rest = 1.0 - y;
  k->low             = t->node[row];

  group slope;
  NAME(load)(t->below_base, &k->w.below, TUBE_GROUP_MAX);
  NAME(load)(t->below_slope, &slope, TUBE_GROUP_MAX);
  EACH(h)
  {
    k->w.below.v[h] = (rest * rest) * (k->w.below.v[h] + y * slope.v[h]);
  }
  NAME(load)(t->above_base, &k->w.above, TUBE_GROUP_MAX);
  NAME(load)(t->above_slope, &slope, TUBE_GROUP_MAX);
  EACH(h)
  {
    k->w.above.v[h] = (y * y) * (k->w.above.v[h] + y * slope.v[h]);
  }
}

/// A node, between two rows: folded, {F, S}
INLINE void
NAME(weigh)(const tube_node* n, const weights* w, group* x)
{
  const vec* const low  = (const vec*)n;
  const vec* const high = (const vec*)(n + TUBE_A_NODES); // In the next row
  EACH(h)
  {
    x->v[h] = low[h] * w->below.v[h] + high[h] * w->above.v[h];
  }
}

/// F and S where the last group ended, at the b of this one
INLINE void
NAME(take_start)(tube_gain* g, work* k, uint32_t n)
{
  const tube_from* const from = &g->from;
  const tube_node* const node = k->low + from->cell;

  group left, right, ends;
  NAME(weigh)(node, &k->w, &left);
  NAME(weigh)(node + 1, &k->w, &right);
  NAME(fold)(&left, &right, &ends);
  const double   p    = NAME(lane)(&ends, 0);
  const double   dp   = NAME(lane)(&ends, 1);
  const double   dq   = NAME(lane)(&ends, 3);
  const double   rise = NAME(lane)(&ends, 2) - p;
  const uint32_t i    = n - 1;
  k->f_start          = (p + from->f_rise[i] * rise) +
               (from->f_left[i] * dp + from->f_right[i] * dq);
  k->s_start =
    from->s_rise[i] * rise + (from->s_left[i] * dp + from->s_right[i] * dq);
}

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

/// See tube_locate().  a is at most TUBE_A_MAX.
INLINE void
NAME(locate)(tube_gain* g, work* k, uint32_t n)
{
  (void)g;
  (void)n;
  places* const at = &k->at;
  EACH(h)
  {
    // The steeper of two straight lines below the knee, the other above
    const vec  above = k->a.v[h] - TUBE_A_KNEE;
    const mask fine  = above < 0.0;
    vec        x     = TUBE_A_FINE + SELECT(fine, above * TUBE_A_PER_V, above);
    x                = (vec)((mask)x & (x > 0.0));

    const NAME(cells) cell = __builtin_convertvector(x, NAME(cells));
    at->share.v[h]         = x - __builtin_convertvector(cell, vec);
    at->rest.v[h]          = 1.0 - at->share.v[h];
    at->width.v[h]         = SELECT(fine, ALL(1.0 / TUBE_A_PER_V), ALL(1.0));
    at->per_width.v[h]     = SELECT(fine, ALL((double)TUBE_A_PER_V), ALL(1.0));
    for (uint32_t i = 0; i < LANES; ++i) {
      at->cell[LANES * h + i] = cell[i];
    }
  }
}

/// Cell of a sample; those beyond the group go with its last
INLINE uint32_t
NAME(cell)(const work* k, uint32_t i, uint32_t n)
{
  return (uint32_t)k->at.cell[i < n ? i : n - 1];
}

/// F and S at the nodes below or (`above` is 1) above the grid source
INLINE void
NAME(gather_side)(const work* k, uint32_t above, uint32_t n, group* f, group* s)
{
  group at[TUBE_GROUP_MAX], even, odd;
  for (uint32_t i = 0; i < TUBE_GROUP_MAX; ++i) {
    NAME(weigh)(k->low + NAME(cell)(k, i, n) + above, &k->w, &at[i]);
  }
  NAME(fold)(&at[0], &at[2], &even);
  NAME(fold)(&at[1], &at[3], &odd);
  NAME(split)(&even, &odd, f, s);
}

INLINE void
NAME(gather)(tube_gain* g, work* k, uint32_t n)
{
  (void)g;
  NAME(gather_side)(k, 0, n, &k->p, &k->dp);
  NAME(gather_side)(k, 1, n, &k->q, &k->dq);
}

/// F and S there: cubic Hermite interpolation of F
INLINE void
NAME(interpolate)(tube_gain* g, work* k, uint32_t n)
{
  tube_from* const from = &g->from;

  group f_rise, f_left, f_right, s_rise, s_left, s_right;
  EACH(h)
  {
    const vec x    = k->at.share.v[h];
    const vec r    = k->at.rest.v[h];
    const vec xr   = x * r;
    const vec xrw  = xr * k->at.width.v[h];
    const vec x2   = x + x;
    f_rise.v[h]    = (x * x) * (3.0 - x2);
    f_left.v[h]    = xrw * r;
    f_right.v[h]   = -(xrw * x);
    s_rise.v[h]    = (6.0 * xr) * k->at.per_width.v[h];
    s_left.v[h]    = r * (r - x2);
    s_right.v[h]   = x * ((x2 + x) - 2.0);
    const vec rise = k->q.v[h] - k->p.v[h];
    k->f.v[h]      = (k->p.v[h] + f_rise.v[h] * rise) +
                (f_left.v[h] * k->dp.v[h] + f_right.v[h] * k->dq.v[h]);
    k->s.v[h] = s_rise.v[h] * rise +
                (s_left.v[h] * k->dp.v[h] + s_right.v[h] * k->dq.v[h]);
  }
  NAME(store)(&f_rise, from->f_rise, TUBE_GROUP_MAX);
  NAME(store)(&f_left, from->f_left, TUBE_GROUP_MAX);
  NAME(store)(&f_right, from->f_right, TUBE_GROUP_MAX);
  NAME(store)(&s_rise, from->s_rise, TUBE_GROUP_MAX);
  NAME(store)(&s_left, from->s_left, TUBE_GROUP_MAX);
  NAME(store)(&s_right, from->s_right, TUBE_GROUP_MAX);
  from->cell = (uint32_t)k->at.cell[n - 1];
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

/// Operating point `at` samples after the start of the ramp
INLINE void
NAME(take_rest)(const tube_rest_ramp* ramp, double at, work* k)
{
  group start, step;
  NAME(load)(&ramp->at.ia, &start, TUBE_GROUP_MAX); // And ig, a, b
  NAME(load)(&ramp->step.ia, &step, TUBE_GROUP_MAX);
  EACH(h)
  {
    k->rest.v[h] = start.v[h] + at * step.v[h];
  }
}

/// A group of `n` samples at i of each of `n_streams` (both constants where
/// this is inlined) stages in a row, each of which is a group behind the one in
/// front of it, in each channel.  Each step waits for the one before: stages
/// take them in turn, so that a processor finds work of others meanwhile.
INLINE void
NAME(run_streams)(tube_gain* const*     g,
                  const tube_rest_ramp* ramp,
                  double* const*        x,
                  uint32_t              i,
                  uint32_t              n,
                  uint32_t              first,
                  uint32_t              n_stages,
                  uint32_t              n_channels)
{
  enum { most = TUBE_STAGES_MAX * TUBE_CHANNELS_MAX };
  work       k[most];
  tube_gain* stage[most];
  double*    io[most];

  const uint32_t n_streams = n_stages * n_channels;
#define EACH_STREAM \
  _Pragma("GCC unroll 6") for (uint32_t s = 0; s < n_streams; ++s)
  EACH_STREAM
  {
    const uint32_t late = i - s / n_channels * n;
    stage[s]            = g[s % n_channels] + first + s / n_channels;
    io[s]               = x[s % n_channels] + late;
    NAME(take_rest)(ramp, ramp->samples + (double)late + 0.5 * n, &k[s]);
    NAME(filter)(stage[s], &k[s], io[s], n);
  }
#define STEP(function)                  \
  EACH_STREAM                           \
  {                                     \
    NAME(function)(stage[s], &k[s], n); \
  }
  STEP(expect)
  STEP(take_row)
  STEP(locate)
  STEP(invert)
  STEP(take_start)
  STEP(gather)
  STEP(take_grid)
  STEP(interpolate)
  STEP(take_mean)
  STEP(correct)
  STEP(output)
  EACH_STREAM
  {
    NAME(store)(&k[s].out, io[s], n);
  }
  STEP(charge)
#undef STEP
#undef EACH_STREAM
}

/// One channel or two, all stages: those behind follow a group later
INLINE void
NAME(run_pipeline)(tube_gain* const*     g,
                   const tube_rest_ramp* ramp,
                   double* const*        x,
                   uint32_t              n,
                   uint32_t              size,
                   uint32_t              n_stages,
                   uint32_t              n_channels)
{
  // Where not all stages have work: one by one
  const uint32_t end = n + (n_stages - 1) * size;
  for (uint32_t i = 0; i < end; i += size) {
    if (i >= (n_stages - 1) * size && i < n) {
      NAME(run_streams)(g, ramp, x, i, size, 0, n_stages, n_channels);
      continue;
    }
    for (uint32_t s = 0; s < n_stages; ++s) {
      if (i >= s * size && i - s * size < n) {
        NAME(run_streams)(g, ramp, x, i - s * size, size, s, 1, n_channels);
      }
    }
  }
}

/// Stage by stage
INLINE void
NAME(run_plainly)(tube_gain* const*     g,
                  const tube_rest_ramp* ramp,
                  double* const*        x,
                  uint32_t              n,
                  uint32_t              size,
                  uint32_t              n_stages,
                  uint32_t              n_channels)
{
  for (uint32_t s = 0; s < n_stages; ++s) {
    for (uint32_t c = 0; c < n_channels; ++c) {
      for (uint32_t i = 0; i < n; i += size) {
        NAME(run_streams)(g + c, ramp, x + c, i, size, s, 1, 1);
      }
    }
  }
}

#undef vec
#undef mask
#undef group
#undef places
#undef weights
#undef work
#undef EACH
#undef SELECT
#undef ALL
#undef N_VECS
