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
  vec v[2 * N_VECS];
} NAME(weights);

/// A group of one stage at work, between the steps
typedef struct {
  group leak;  ///< Of the capacitors, as they are ordered
  group u;     ///< What the input and the linear filters make of it ...
  group drift; ///< ... and what the capacitors will take off it
  group a;     ///< The grid source
  NAME(weights) w;
  NAME(places) at;
  pair  left[TUBE_GROUP_MAX]; ///< F and S at the nodes around it
  pair  right[TUBE_GROUP_MAX];
  group f, s;              ///< F and S there
  group per_step;          ///< 1 / step of the grid source, to each sample
  NAME(masks) slow;        ///< Where that is too little for a quotient
  group     ia, ig, slope; ///< Mean currents over the steps, less those at rest
  group     load, out;
  tube_from from;       ///< Where the grid source comes from
  pair      start;      ///< F and S there
  const tube_node* low; ///< Row below b
  tube_rest        rest;
} NAME(work);

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
  const double b = k->rest.b + g->load_share * NAME(lane)(&cap, TUBE_LOAD) -
                   NAME(lane)(&cap, TUBE_CATHODE);

  const double  at   = (b - t->b_min) * t->rows_per_v;
  const int32_t cell = (int32_t)at;
  const int32_t top  = TUBE_B_ROWS - 2;
  const int32_t row  = cell < 0 ? 0 : cell > top ? top : cell;
  const double  y    = at - row;
  const double  rest = 1.0 - y;
  const double  up   = y * y * (3.0 - 2.0 * y);
  const double  down = 1.0 - up;
  const double  h    = y * rest * t->b_step;
  const double  low  = h * rest;
  const double  high = -h * y;
  k->low             = t->node[row];
  NAME(join)((pair){down, down}, (pair){low, low}, k->w.v);
  NAME(join)((pair){up, up}, (pair){high, high}, k->w.v + N_VECS);
}

/// {F, S} of a node, between two rows
INLINE pair
NAME(between_rows)(const tube_node* n, const weights* w)
{
#if LANES == 4
  const vec* const low  = (const vec*)n;
  const vec* const high = (const vec*)(n + TUBE_A_NODES); // In the next row
  const vec        sum  = low[0] * w->v[0] + high[0] * w->v[1];
  return __builtin_shufflevector(sum, sum, 0, 1) +
         __builtin_shufflevector(sum, sum, 2, 3);
#else
  const pair* const low  = (const pair*)n;
  const pair* const high = (const pair*)(n + TUBE_A_NODES);
  return (low[0] * w->v[0] + high[0] * w->v[2]) +
         (low[1] * w->v[1] + high[1] * w->v[3]);
#endif
}

/// F and S where the last group ended, at the b of this one
INLINE void
NAME(take_start)(tube_gain* g, work* k, uint32_t n)
{
  (void)g;
  (void)n;
  const tube_node* const node = k->low + k->from.cell;
  const pair             p    = NAME(between_rows)(node, &k->w);
  const pair             q    = NAME(between_rows)(node + 1, &k->w);

  const double x    = k->from.share;
  const double r    = 1.0 - x;
  const double xr   = x * r;
  const double rise = q[0] - p[0];
  k->start          = (pair){
             p[0] + x * x * (3.0 - 2.0 * x) * rise +
               xr * k->from.width * (r * p[1] - x * q[1]),
             6.0 * xr * k->from.per_width * rise + r * (1.0 - 3.0 * x) * p[1] +
               x * (3.0 * x - 2.0) * q[1],
  };
}

/// Linear filters in front of the grid
INLINE void
NAME(filter)(tube_gain* g, work* k, const double* in, uint32_t n)
{
  const tube_pole c = g->coupling_pole;
  const tube_pole p = g->input_pole;

  double out[TUBE_GROUP_MAX] = {0};
  double u                   = g->u;
  double low                 = g->low;
  double high                = g->high;
  double grid                = g->grid;
  for (uint32_t i = 0; i < n; ++i) {
    low    = c.pole * low + (c.now * in[i] + c.before * u);
    u      = in[i];
    grid   = p.pole * grid + (p.now * (u - low) + p.before * high);
    high   = u - low;
    out[i] = grid;
  }
  g->u    = u;
  g->low  = low;
  g->high = high;
  g->grid = grid;
  NAME(join)((pair){out[0], out[1]}, (pair){out[2], out[3]}, k->u.v);
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
  const double held =
    k->rest.a - g->cap[TUBE_CATHODE] - g->divider * g->cap[TUBE_COUPLING];
  const double change = rate - g->rate_before;
  const double r1     = rate + 0.5 * change;
  const double r2     = 0.5 / n * change;
  g->rate_before      = rate;
  EACH(h)
  {
    k->drift.v[h] = end.v[h] * (r1 + end.v[h] * r2);
    k->a.v[h]     = g->divider * k->u.v[h] + (held - k->drift.v[h]);
  }
}

/// See tube_locate().  a is at most TUBE_A_MAX.
INLINE void
NAME(locate)(tube_gain* g, work* k, uint32_t n)
{
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
  k->from           = g->from;
  g->from.cell      = (uint32_t)at->cell[n - 1];
  g->from.share     = NAME(lane)(&at->share, n - 1);
  g->from.width     = NAME(lane)(&at->width, n - 1);
  g->from.per_width = NAME(lane)(&at->per_width, n - 1);
}

/// Cell of a sample; those beyond the group go with its last
INLINE uint32_t
NAME(cell)(const work* k, uint32_t i, uint32_t n)
{
  return (uint32_t)k->at.cell[i < n ? i : n - 1];
}

/// F and S at the nodes around the grid source
INLINE void
NAME(gather)(tube_gain* g, work* k, uint32_t n)
{
  (void)g;
  for (uint32_t i = 0; i < TUBE_GROUP_MAX; ++i) {
    const tube_node* const node = k->low + NAME(cell)(k, i, n);
    k->left[i]                  = NAME(between_rows)(node, &k->w);
    k->right[i]                 = NAME(between_rows)(node + 1, &k->w);
  }
}

/// F and S there: cubic Hermite interpolation of F
INLINE void
NAME(interpolate)(tube_gain* g, work* k, uint32_t n)
{
  (void)g;
  (void)n;
  group p, dp, q, dq;
  NAME(split)(k->left, &p, &dp);
  NAME(split)(k->right, &q, &dq);
  EACH(h)
  {
    const vec x    = k->at.share.v[h];
    const vec r    = k->at.rest.v[h];
    const vec rise = q.v[h] - p.v[h];
    const vec xr   = x * r;
    k->f.v[h]      = p.v[h] + x * x * (3.0 - 2.0 * x) * rise +
                xr * k->at.width.v[h] * (r * dp.v[h] - x * dq.v[h]);
    k->s.v[h] = 6.0 * xr * k->at.per_width.v[h] * rise +
                r * (1.0 - 3.0 * x) * dp.v[h] + x * (3.0 * x - 2.0) * dq.v[h];
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
  group left, right, before;
  NAME(split)(ends, &left, &right);
  EACH(h)
  {
    left.v[h] += k->at.share.v[h] * (right.v[h] - left.v[h]);
  }
  NAME(behind)(g->ig, &left, &before);
  EACH(h)
  {
    k->ig.v[h] = 0.5 * (left.v[h] + before.v[h]) - k->rest.ig;
  }
  g->ig = NAME(lane)(&left, n - 1);
}

/// 1 / step of the grid source, to each sample
INLINE void
NAME(invert)(tube_gain* g, work* k, uint32_t n)
{
  group before;
  NAME(behind)(g->a, &k->a, &before);
  EACH(h)
  {
    const vec step   = k->a.v[h] - before.v[h];
    k->slow.v[h]     = (vec)((mask)step & INT64_MAX) <= MIN_MOTION_V;
    k->per_step.v[h] = 1.0 / SELECT(k->slow.v[h], ALL(1.0), step);
  }
  g->a = NAME(lane)(&k->a, n - 1);
}

/// Mean plate current, less that at rest, and its mean slope
INLINE void
NAME(take_mean)(tube_gain* g, work* k, uint32_t n)
{
  (void)g;
  (void)n;
  group f_before, s_before;
  NAME(behind)(k->start[0], &k->f, &f_before);
  NAME(behind)(k->start[1], &k->s, &s_before);
  EACH(h)
  {
    const vec mean = (k->f.v[h] - f_before.v[h]) * k->per_step.v[h];
    k->ia.v[h]     = SELECT(k->slow.v[h], k->s.v[h], mean) - k->rest.ia;
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
  const double per_ig = per_ia + g->divider * g->charge[TUBE_COUPLING];

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
  NAME(behind)(g->off, &off, &before);
  EACH(h)
  {
    k->ia.v[h] -= k->slope.v[h] * (0.5 * (off.v[h] + before.v[h]));
  }
  g->off = NAME(lane)(&off, n - 1);
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
  const double ig   = NAME(sum)(&k->ig, n);
  const double ia   = NAME(sum)(&k->ia, n);
  const double load = NAME(sum)(&k->load, n);
  group        sum;
  NAME(join)((pair){ia + ig, ig}, (pair){load, 0.0}, sum.v);
  group cap, rate, charge;
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
  k->rest.ia = ramp->at.ia + at * ramp->step.ia;
  k->rest.ig = ramp->at.ig + at * ramp->step.ig;
  k->rest.a  = ramp->at.a + at * ramp->step.a;
  k->rest.b  = ramp->at.b + at * ramp->step.b;
}

/// A group of `n` samples of each of `n_streams` (1 or 2, both constants where
/// this is inlined) stages in a row, of which each is a group behind the one in
/// front of it.  Each step waits for the one before: two stages take them in
/// turn, so that a processor finds work of the other meanwhile.
INLINE void
NAME(run_streams)(tube_gain*            g,
                  const tube_rest_ramp* ramp,
                  double*               x,
                  uint32_t              i,
                  uint32_t              n,
                  uint32_t              n_streams)
{
  work k0, k1;
#define EACH_STREAM(function, ...)           \
  NAME(function)(&g[0], &k0, __VA_ARGS__);   \
  if (n_streams > 1) {                       \
    NAME(function)(&g[1], &k1, __VA_ARGS__); \
  }
  NAME(take_rest)(ramp, ramp->samples + i + 0.5 * n, &k0);
  NAME(take_rest)(ramp, ramp->samples + i - 0.5 * n, &k1);
  NAME(filter)(&g[0], &k0, x + i, n);
  if (n_streams > 1) {
    NAME(filter)(&g[1], &k1, x + i - n, n);
  }
  EACH_STREAM(expect, n)
  EACH_STREAM(take_row, n)
  EACH_STREAM(locate, n)
  EACH_STREAM(invert, n)
  EACH_STREAM(take_start, n)
  EACH_STREAM(gather, n)
  EACH_STREAM(take_grid, n)
  EACH_STREAM(interpolate, n)
  EACH_STREAM(take_mean, n)
  EACH_STREAM(correct, n)
  EACH_STREAM(output, n)
  NAME(store)(&k0.out, x + i, n);
  if (n_streams > 1) {
    NAME(store)(&k1.out, x + i - n, n);
  }
  EACH_STREAM(charge, n)
#undef EACH_STREAM
}

/// `n` samples in groups of `size`, a constant where it is inlined
INLINE void
NAME(run_groups)(tube_gain*            g,
                 uint32_t              n_stages,
                 const tube_rest_ramp* ramp,
                 double*               x,
                 uint32_t              n,
                 uint32_t              size)
{
  if (n_stages == 1) {
    for (uint32_t i = 0; i < n; i += size) {
      NAME(run_streams)(g, ramp, x, i, size, 1);
    }
    return;
  }
  NAME(run_streams)(g, ramp, x, 0, size, 1);
  for (uint32_t i = size; i < n; i += size) {
    NAME(run_streams)(g, ramp, x, i, size, 2);
  }
  NAME(run_streams)(g + 1, ramp, x, n - size, size, 1);
  if (n_stages == 3) {
    for (uint32_t i = 0; i < n; i += size) {
      NAME(run_streams)(g + 2, ramp, x, i, size, 1);
    }
  }
}

INLINE void
NAME(run)(tube_gain*            g,
          uint32_t              n_stages,
          const tube_rest_ramp* ramp,
          double*               x,
          uint32_t              n,
          uint32_t              size)
{
  switch (size) {
    case 1:
      NAME(run_groups)(g, n_stages, ramp, x, n, 1);
      break;
    case 2:
      NAME(run_groups)(g, n_stages, ramp, x, n, 2);
      break;
    default:
      NAME(run_groups)(g, n_stages, ramp, x, n, 4);
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
