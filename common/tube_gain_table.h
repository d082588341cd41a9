// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

// A group of samples of a stage, and what it reads from the stage's table.  No
// guard: tube_gain_run.c includes this, through tube_gain_pipeline.h, once per
// width of vector.

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
