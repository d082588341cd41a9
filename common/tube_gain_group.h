// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

// No guard: tube_gain_run.c includes this once per width of vector, with LANES
// (2 or 4) and NAME(x) defined.  Both make the same bits.

#define N_VECS (TUBE_GROUP_MAX / LANES)

typedef double  NAME(vec) __attribute__((vector_size(8 * LANES), may_alias));
typedef int64_t NAME(mask) __attribute__((vector_size(8 * LANES), may_alias));
typedef int32_t NAME(cells) __attribute__((vector_size(4 * LANES), may_alias));

#define vec  NAME(vec)
#define mask NAME(mask)

/// One value per sample of a group
typedef struct {
  vec v[N_VECS];
} NAME(group);

#define group NAME(group)

#define EACH(h) for (uint32_t h = 0; h < N_VECS; ++h)

#define SELECT(m, x, y) ((vec)(((mask)(x) & (m)) | ((mask)(y) & ~(m))))

#if LANES == 4
#  define ALL(x) ((vec){(x), (x), (x), (x)})
#else
#  define ALL(x) ((vec){(x), (x)})
#endif

INLINE group
NAME(load)(const double* x)
{
  group g;
  memcpy(&g, x, sizeof(g));
  return g;
}

/// A group one sample later, with `first` in front
INLINE group
NAME(behind)(double first, group x)
{
#if LANES == 4
  return (group){{__builtin_shufflevector(x.v[0], ALL(first), 4, 0, 1, 2)}};
#else
  return (group){{{first, x.v[0][0]}, {x.v[0][1], x.v[1][0]}}};
#endif
}

/// Sums up to each sample
INLINE group
NAME(running_sum)(group x)
{
  group once = NAME(behind)(0.0, x);
  EACH(h)
  {
    once.v[h] += x.v[h];
  }
#if LANES == 4
  const vec v = once.v[0];
  return (group){{v + __builtin_shufflevector(v, ALL(0.0), 4, 4, 0, 1)}};
#else
  return (group){{once.v[0], once.v[1] + once.v[0]}};
#endif
}

INLINE double
NAME(sum)(group x)
{
#if LANES == 4
  const vec v = x.v[0];
  return (v[0] + v[1]) + (v[2] + v[3]);
#else
  return (x.v[0][0] + x.v[0][1]) + (x.v[1][0] + x.v[1][1]);
#endif
}

INLINE double
NAME(last)(group x, uint32_t n)
{
  return x.v[(n - 1) / LANES][(n - 1) % LANES];
}

/// First and second number of four pairs
INLINE void
NAME(split)(const pair* p, group* first, group* second)
{
#if LANES == 4
  const vec even = {p[0][0], p[0][1], p[2][0], p[2][1]};
  const vec odd  = {p[1][0], p[1][1], p[3][0], p[3][1]};
  first->v[0]    = __builtin_shufflevector(even, odd, 0, 4, 2, 6);
  second->v[0]   = __builtin_shufflevector(even, odd, 1, 5, 3, 7);
#else
  EACH(h)
  {
    const pair* const q = p + 2 * h;
    first->v[h]         = (vec){q[0][0], q[1][0]};
    second->v[h]        = (vec){q[0][1], q[1][1]};
  }
#endif
}

/// Where the values of a lie on their axis
typedef struct {
  group   share, rest; ///< Of the cell, and of what remains of it
  group   width, per_width;
  int32_t cell[TUBE_GROUP_MAX];
} NAME(places);

#define places NAME(places)

/// See tube_locate().  a is at most TUBE_A_MAX.
INLINE places
NAME(locate)(group a)
{
  places at;
  EACH(h)
  {
    // The steeper of two straight lines below the knee, the other above
    const vec  above = a.v[h] - TUBE_A_KNEE;
    const mask fine  = above < 0.0;
    vec        x     = TUBE_A_FINE + SELECT(fine, above * TUBE_A_PER_V, above);
    x                = (vec)((mask)x & (x > 0.0));

    const NAME(cells) cell = __builtin_convertvector(x, NAME(cells));
    at.share.v[h]          = x - __builtin_convertvector(cell, vec);
    at.rest.v[h]           = 1.0 - at.share.v[h];
    at.width.v[h]          = SELECT(fine, ALL(1.0 / TUBE_A_PER_V), ALL(1.0));
    at.per_width.v[h]      = SELECT(fine, ALL((double)TUBE_A_PER_V), ALL(1.0));
    for (uint32_t k = 0; k < LANES; ++k) {
      at.cell[LANES * h + k] = cell[k];
    }
  }
  return at;
}

/// A function and its slope along a, at each sample
typedef struct {
  group f, s;
} NAME(curve);

#define curve NAME(curve)

/// Cubic Hermite interpolation from {f, s} at the left and right of the cells
INLINE curve
NAME(interpolate)(const places* at, const pair* left, const pair* right)
{
  group p, dp, q, dq;
  NAME(split)(left, &p, &dp);
  NAME(split)(right, &q, &dq);

  curve c;
  EACH(h)
  {
    const vec x    = at->share.v[h];
    const vec r    = at->rest.v[h];
    const vec rise = q.v[h] - p.v[h];
    const vec xr   = x * r;
    c.f.v[h]       = p.v[h] + x * x * (3.0 - 2.0 * x) * rise +
               xr * at->width.v[h] * (r * dp.v[h] - x * dq.v[h]);
    c.s.v[h] = 6.0 * xr * at->per_width.v[h] * rise +
               r * (1.0 - 3.0 * x) * dp.v[h] + x * (3.0 * x - 2.0) * dq.v[h];
  }
  return c;
}

/// {F, S} of a node, between two rows
INLINE pair
NAME(between_rows)(const tube_node* low, const tube_node* high, const double* w)
{
#if LANES == 4
  const vec sum = *(const vec*)low * *(const vec*)w +
                  *(const vec*)high * *(const vec*)(w + 4);
  return (pair){sum[0], sum[1]} + (pair){sum[2], sum[3]};
#else
  const pair* const l = (const pair*)low;
  const pair* const h = (const pair*)high;
  const pair* const v = (const pair*)w;
  return (l[0] * v[0] + h[0] * v[2]) + (l[1] * v[1] + h[1] * v[3]);
#endif
}

/// Weights over b of {F, S, F_b, S_b} in the row below and in that above
INLINE void
NAME(weigh_rows)(const tube_gain* g, double* w)
{
  const tube_table* const t = g->table;

  const double y    = (g->b - t->b_min) * t->rows_per_v - g->row;
  const double rest = 1.0 - y;
  const double up   = y * y * (3.0 - 2.0 * y);
  const double h    = y * rest * t->b_step;
  w[0] = w[1] = 1.0 - up;
  w[2] = w[3] = h * rest;
  w[4] = w[5] = up;
  w[6] = w[7] = -h * y;
}

/// F and S where the last group ended, at the b of this one
INLINE pair
NAME(start)(const tube_gain* g, const double* w)
{
  const tube_place       at   = tube_locate(g->a);
  const tube_node* const low  = &g->table->node[g->row][at.cell];
  const tube_node* const high = &g->table->node[g->row + 1][at.cell];
  const pair             p    = NAME(between_rows)(low, high, w);
  const pair             q    = NAME(between_rows)(low + 1, high + 1, w);

  const double x  = at.share;
  const double r  = 1.0 - x;
  const double xr = x * r;
  return (pair){
    p[0] + x * x * (3.0 - 2.0 * x) * (q[0] - p[0]) +
      xr * at.width * (r * p[1] - x * q[1]),
    6.0 * xr * (q[0] - p[0]) / at.width + r * (1.0 - 3.0 * x) * p[1] +
      x * (3.0 * x - 2.0) * q[1],
  };
}

/// Plate and grid current at `a`, with their antiderivatives
INLINE void
NAME(look_up)(const tube_gain* g,
              const double*    w,
              const group*     a,
              curve*           plate,
              curve*           grid,
              uint32_t         n)
{
  const tube_table* const t  = g->table;
  const places            at = NAME(locate)(*a);

  pair left[TUBE_GROUP_MAX], right[TUBE_GROUP_MAX];
  pair grid_left[TUBE_GROUP_MAX], grid_right[TUBE_GROUP_MAX];
  for (uint32_t k = 0; k < TUBE_GROUP_MAX; ++k) {
    const int32_t          cell = at.cell[k < n ? k : n - 1];
    const tube_node* const low  = &t->node[g->row][cell];
    const tube_node* const high = &t->node[g->row + 1][cell];
    left[k]                     = NAME(between_rows)(low, high, w);
    right[k]                    = NAME(between_rows)(low + 1, high + 1, w);
    grid_left[k]                = *(const pair*)t->grid[cell];
    grid_right[k]               = *(const pair*)t->grid[cell + 1];
  }
  *plate = NAME(interpolate)(&at, left, right);
  *grid  = NAME(interpolate)(&at, grid_left, grid_right);
}

/// Linear filters in front of the grid, for a group
INLINE group
NAME(filter)(tube_gain* g, const double* in, uint32_t n)
{
  double y[TUBE_GROUP_MAX] = {0};
  double u                 = g->u;
  double low               = g->low;
  double high              = g->high;
  double grid              = g->grid;
  for (uint32_t k = 0; k < n; ++k) {
    low                 = g->hp * low + g->hp_in * (in[k] + u);
    u                   = in[k];
    const double before = high;
    high                = u - low;
    grid = g->lp * grid + (g->lp_in * high + g->lp_before * before);
    y[k] = grid;
  }
  g->u    = u;
  g->low  = low;
  g->high = high;
  g->grid = grid;

  group limited = NAME(load)(y);
  EACH(h)
  {
    const mask ok = limited.v[h] < g->limit;
    limited.v[h]  = SELECT(ok, limited.v[h], ALL(g->limit));
  }
  return limited;
}

/// Mean of a current while the grid moves by `step` from the sample before, and
/// its mean slope
INLINE group
NAME(mean)(curve c, double f_before, group step, group* per_step)
{
  const group before = NAME(behind)(f_before, c.f);
  group       out;
  EACH(h)
  {
    // Too little motion for the quotient: the value itself
    const mask slow = (vec)((mask)step.v[h] & INT64_MAX) <= MIN_MOTION_V;
    per_step->v[h]  = 1.0 / SELECT(slow, ALL(1.0), step.v[h]);
    out.v[h] =
      SELECT(slow, c.s.v[h], (c.f.v[h] - before.v[h]) * per_step->v[h]);
  }
  return out;
}

/// Samples beyond the group do not count
INLINE group
NAME(only)(group x, uint32_t n)
{
  for (uint32_t k = n; k < TUBE_GROUP_MAX; ++k) {
    x.v[k / LANES][k % LANES] = 0.0;
  }
  return x;
}

/// `n` samples, a constant where it is inlined
INLINE void
NAME(run_group)(tube_gain* g, const tube_rest* rest, double* x, uint32_t n)
{
  static const double end_of[]    = {1.0, 2.0, 3.0, 4.0};
  static const double centre_of[] = {0.5, 1.5, 2.5, 3.5};

  const group  end    = NAME(load)(end_of);
  const group  centre = NAME(load)(centre_of);
  const double share  = 1.0 / n;
  const double middle = 0.5 * n;

  // Cathode and coupling capacitor, as voltages against a, are expected to go
  // on as in the last two groups
  const double rate   = g->vk_rate + g->divider * g->ec_rate;
  const double change = rate - g->rate_before;
  const double r1     = rate + 0.5 * change;
  const double r2     = 0.5 * share * change;
  const double held   = rest->a - g->vk - g->divider * g->ec;
  g->rate_before      = rate;
  group a             = NAME(filter)(g, x, n);
  group expected;
  EACH(h)
  {
    expected.v[h] = end.v[h] * (r1 + end.v[h] * r2);
    a.v[h]        = g->divider * a.v[h] + (held - expected.v[h]);
  }

  // b moves so little that a group sees its middle
  const double vk = g->vk + middle * g->vk_rate;
  const double ec = g->ec + middle * g->ec_rate;
  const double el = g->el + middle * g->el_rate;
  g->b            = rest->b + g->load_share * el - vk;
  g->row          = tube_row(g->table, g->b);
  _Alignas(32) double w[8];
  NAME(weigh_rows)(g, w);

  curve      plate, grid;
  const pair start = NAME(start)(g, w);
  NAME(look_up)(g, w, &a, &plate, &grid, n);
  group step      = NAME(behind)(g->a, a);
  group ia_before = NAME(behind)(start[1], plate.s);
  EACH(h)
  {
    step.v[h] = a.v[h] - step.v[h];
  }
  group per_step;
  group ia = NAME(mean)(plate, start[0], step, &per_step);
  group ig = NAME(mean)(grid, g->f_grid, step, &per_step);

  // What the two capacitors really did, and what that changes
  const double leak = g->cathode_leak * vk + g->divider * g->coupling_leak * ec;
  const double per_ig = g->divider * g->coupling;
  group        moved;
  EACH(h)
  {
    ia.v[h] -= rest->ia;
    ig.v[h] -= rest->ig;
    moved.v[h] = g->cathode * (ia.v[h] + ig.v[h]) + per_ig * ig.v[h] - leak;
  }
  group off = NAME(running_sum)(moved);
  EACH(h)
  {
    off.v[h] -= expected.v[h];
  }
  const group off_before = NAME(behind)(g->off, off);
  EACH(h)
  {
    const vec slope = (plate.s.v[h] - ia_before.v[h]) * per_step.v[h];
    ia.v[h] -= slope * (0.5 * (off.v[h] + off_before.v[h]));
  }
  g->a      = NAME(last)(a, n);
  g->f_grid = NAME(last)(grid.f, n);
  g->off    = NAME(last)(off, n);

  // The load's capacitor, likewise.  Means over a sample belong to its middle.
  group load;
  EACH(h)
  {
    const vec about = g->el + centre.v[h] * g->el_rate;
    load.v[h]       = (g->load_share - 1.0) * about - g->plate * ia.v[h];
  }
  const group so_far = NAME(running_sum)(load);
  group       out;
  EACH(h)
  {
    const vec now = g->el + g->load * (so_far.v[h] - 0.5 * load.v[h]);
    load.v[h]     = (g->load_share - 1.0) * now - g->plate * ia.v[h];
    out.v[h]      = g->out_load * load.v[h] + g->out_el * now;
  }
  memcpy(x, &out, n * sizeof(double));

  // What the capacitors did in this group
  const double sum_ig = NAME(sum)(NAME(only)(ig, n));
  const double sum_ia = NAME(sum)(NAME(only)(ia, n));
  g->vk_rate = share * g->cathode * (sum_ia + sum_ig) - g->cathode_leak * vk;
  g->ec_rate = share * g->coupling * sum_ig - g->coupling_leak * ec;
  g->el_rate = share * g->load * NAME(sum)(NAME(only)(load, n));
  g->vk += n * g->vk_rate;
  g->ec += n * g->ec_rate;
  g->el += n * g->el_rate;
}

/// `n` samples in groups of `size`, a constant where it is inlined.  A stage
/// works one group behind the one in front of it, so that their look-ups need
/// not wait for each other.
INLINE void
NAME(run_groups)(tube_gain*            g,
                 uint32_t              n_stages,
                 const tube_rest_ramp* ramp,
                 double*               x,
                 uint32_t              n,
                 uint32_t              size)
{
  for (uint32_t t = 0; t < n + (n_stages - 1) * size; t += size) {
    for (uint32_t s = 0; s < n_stages; ++s) {
      const uint32_t i = t - s * size;
      if (i < n) {
        const double    at   = i + 0.5 * size;
        const tube_rest rest = {
          .ia = ramp->at.ia + at * ramp->step.ia,
          .ig = ramp->at.ig + at * ramp->step.ig,
          .a  = ramp->at.a + at * ramp->step.a,
          .b  = ramp->at.b + at * ramp->step.b,
        };
        NAME(run_group)(&g[s], &rest, x + i, size);
      }
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
#undef curve
#undef places
#undef EACH
#undef SELECT
#undef ALL
#undef N_VECS
