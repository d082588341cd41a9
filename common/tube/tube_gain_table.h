// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

// A group of samples of a stage, and what it reads from the stage's table

#ifndef COMMON_TUBE_TUBE_GAIN_TABLE_H
#define COMMON_TUBE_TUBE_GAIN_TABLE_H

#include "tube_gain_lanes.h"

/// A group of one stage (of two, in eight lanes) at work, between the steps
typedef struct {
  group in, out;
  group rest;      ///< Operating point: ia, ig, a, b
  group leak;      ///< Of the capacitors in this group, as they are ordered ...
  group held_leak; ///< ... and of both in front of the grid, per sample
  group u;         ///< What the input and the linear filters make of it ...
  group drift;     ///< ... and what the capacitors are expected to take off it
  group a;         ///< The grid source
  group weight[4]; ///< Of F, F_b in the row below b, and in that above
  group cathode, load;     ///< V of two capacitors, spread
  group load_held, b_held; ///< What capacitors add to the load and to b
  group off_v; ///< How far the grid source is from the middle of its cell
  group c[4];  ///< Polynomial of F in the cell
  group f, s;  ///< F and S there ...
  group f_start, s_start; ///< ... and where it comes from
  group per_step;         ///< 1 / step of the grid source, to each sample
  group ia, ig, slope;    ///< Mean currents over the steps, less those at rest
  group off;              ///< How far above its place the grid source is seen
  group so_far;           ///< What charges the load's capacitor, summed up
  mask  slow[N_VECS];     ///< Where a step is too little for a quotient

  const group*      fixed;  ///< tube_fixed of the stage
  group*            memory; ///< Its tube_memory
  const tube_table* table[IN_A_VEC];
  const tube_cell*  low[IN_A_VEC]; ///< Row below b
  int64_t           cell[IN_A_VEC][TUBE_GROUP_MAX];
} work;

#define FIXED(k, x) (&(k)->fixed[offsetof(tube_fixed, x) / sizeof(tube_lanes)])
#define MEMORY(k, x) \
  (&(k)->memory[offsetof(tube_memory, x) / sizeof(tube_lanes)])

/// Rows around b, which moves so little that a group sees its middle
INLINE void
take_row(work* k)
{
  const group* const b_min      = FIXED(k, b_min);
  const group* const rows_per_v = FIXED(k, rows_per_v);
  const group* const b_step     = FIXED(k, b_step);
  const group* const held       = MEMORY(k, b_held);
  group              b;
  SPREAD(&k->rest, TUBE_REST_B, &b);
  vec whole[N_VECS];
  EACH(h)
  {
    const vec at     = ((b.v[h] + held->v[h]) - b_min->v[h]) * rows_per_v->v[h];
    const vec inside = MIN(MAX(at, ALL(0.5)), ALL(TUBE_B_ROWS - 1.5)) - 0.5;
    whole[h]         = inside + ROUNDING;
    const vec y      = at - (whole[h] - ROUNDING);
    const vec rest   = 1.0 - y;
    const vec yr     = y * rest;
    k->weight[2].v[h] = (y * y) * (3.0 - (y + y));
    k->weight[0].v[h] = 1.0 - k->weight[2].v[h];
    k->weight[1].v[h] = (yr * b_step->v[h]) * rest;
    k->weight[3].v[h] = (yr * -b_step->v[h]) * y;
  }
  for (uint32_t s = 0; s < IN_A_VEC; ++s) {
    k->low[s] = k->table[s]->cell[(uint32_t)((ints)whole[0])[4 * s]];
  }
}

/// Polynomial of F in the cells at `cell`, between two rows
INLINE void
weigh(const work* k, const tube_cell* const* cell, group* x)
{
#if LANES == 8
  // A cell is a vector: F in its lower half, F_b in its upper
  const vec* const w = &k->weight[0].v[0];
  const vec* const a = (const vec*)cell[0];
  const vec* const b = (const vec*)cell[1];

  const vec first =
    a[0] * LOWER(w[0], w[1]) + a[TUBE_A_CELLS] * LOWER(w[2], w[3]);
  const vec second =
    b[0] * HIGHER(w[0], w[1]) + b[TUBE_A_CELLS] * HIGHER(w[2], w[3]);
  x->v[0] = LOWER(first, second) + HIGHER(first, second);
#else
  const vec* const low  = (const vec*)cell[0];
  const vec* const high = (const vec*)(cell[0] + TUBE_A_CELLS); // Next row
  EACH(h)
  {
    const size_t b = h + N_VECS; // The polynomial of F_b
    x->v[h] = (low[h] * k->weight[0].v[h] + high[h] * k->weight[2].v[h]) +
              (low[b] * k->weight[1].v[h] + high[b] * k->weight[3].v[h]);
  }
#endif
}

/// F and S `x` from the middle of a cell
INLINE void
evaluate(const group* c, const group* x, group* f, group* s)
{
  EACH(h)
  {
    const vec at = x->v[h];
    const vec c3 = c[3].v[h] * at;
    f->v[h]      = (c[0].v[h] + c[1].v[h] * at) + (at * at) * (c[2].v[h] + c3);
    s->v[h]      = c[1].v[h] + at * ((c[2].v[h] + c[2].v[h]) + 3.0 * c3);
  }
}

/// F and S where the last group ended, at the b of this one
INLINE void
take_start(work* k)
{
  const group* const whole = MEMORY(k, whole);
  const tube_cell*   cell[IN_A_VEC];
  for (uint32_t s = 0; s < IN_A_VEC; ++s) {
    cell[s] = k->low[s] + (uint32_t)((const int64_t*)whole)[4 * s + 3];
  }
  group row, c[4], x;
  weigh(k, cell, &row);
  SPREAD(&row, 0, &c[0]);
  SPREAD(&row, 1, &c[1]);
  SPREAD(&row, 2, &c[2]);
  SPREAD(&row, 3, &c[3]);
  SPREAD(MEMORY(k, off_v), 3, &x);
  evaluate(c, &x, &k->f_start, &k->s_start);
}

/// See tube_locate().  a is at most TUBE_A_MAX.
INLINE void
locate(work* k)
{
  group* const whole = MEMORY(k, whole);
  EACH(h)
  {
    const vec  a      = k->a.v[h];
    const mask fine   = LESS(a, ALL(TUBE_A_KNEE));
    const mask middle = LESS(a, ALL(TUBE_A_KNEE_2));
    const vec  first  = a * TUBE_A_PER_V + TUBE_A_AT_0;
    const vec  second = a * TUBE_A_PER_V2 + TUBE_A_AT_0_2;
    const vec  third  = a + TUBE_A_AT_0_3;
    const vec  at     = MAX(MIN(first, MIN(second, third)), ALL(-0.5));
    const vec  sum    = at + ROUNDING;
    const vec  width  = SELECT(middle, ALL(1.0 / TUBE_A_PER_V2), ALL(1.0));
    k->off_v.v[h] =
      (at - (sum - ROUNDING)) * SELECT(fine, ALL(1.0 / TUBE_A_PER_V), width);
    const ints cell = (ints)sum & INT64_C(0xffffffff);
#if LANES == 8
    // By way of memory: the upper lanes are far from the integer registers
    ints seen = cell;
    __asm__("" : "+m"(seen));
    memcpy(k->cell, &seen, sizeof(seen));
#else
    for (uint32_t i = 0; i < LANES; ++i) {
      k->cell[0][LANES * h + i] = cell[i];
    }
#endif
    whole->v[h] = (vec)cell;
  }
  copy_group(&k->off_v, MEMORY(k, off_v));
}

/// The cells of the grid source
INLINE void
gather(work* k)
{
  group at[TUBE_GROUP_MAX];
  for (uint32_t i = 0; i < TUBE_GROUP_MAX; ++i) {
    const tube_cell* cell[IN_A_VEC];
    for (uint32_t s = 0; s < IN_A_VEC; ++s) {
      cell[s] = k->low[s] + k->cell[s][i];
    }
    weigh(k, cell, &at[i]);
  }
  transpose(at, k->c);
}

INLINE void
interpolate(work* k)
{
  evaluate(k->c, &k->off_v, &k->f, &k->s);
}

/// Grid current of each sample
INLINE void
take_grid(work* k)
{
  group ig, slope;
#define AT(line, s, i) k->table[s]->line[k->cell[s][i]]
#define FOUR(line, s) \
  AT(line, s, 0), AT(line, s, 1), AT(line, s, 2), AT(line, s, 3)
#if LANES == 8
  ig.v[0]    = (vec){FOUR(ig, 0), FOUR(ig, 1)};
  slope.v[0] = (vec){FOUR(ig_a, 0), FOUR(ig_a, 1)};
#elif LANES == 4
  ig.v[0]    = (vec){FOUR(ig, 0)};
  slope.v[0] = (vec){FOUR(ig_a, 0)};
#else
  EACH(h)
  {
    ig.v[h]    = (vec){AT(ig, 0, 2 * h), AT(ig, 0, 2 * h + 1)};
    slope.v[h] = (vec){AT(ig_a, 0, 2 * h), AT(ig_a, 0, 2 * h + 1)};
  }
#endif
#undef AT
#undef FOUR
  EACH(h)
  {
    ig.v[h] += k->off_v.v[h] * slope.v[h];
  }

  group before, rest;
  behind(MEMORY(k, ig), &ig, &before);
  SPREAD(&k->rest, TUBE_REST_IG, &rest);
  EACH(h)
  {
    k->ig.v[h] = 0.5 * (ig.v[h] + before.v[h]) - rest.v[h];
  }
  copy_group(&ig, MEMORY(k, ig));
}

#endif // COMMON_TUBE_TUBE_GAIN_TABLE_H
