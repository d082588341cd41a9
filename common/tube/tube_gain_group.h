// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

// The steps of a group of samples through a stage, besides the table's

#ifndef COMMON_TUBE_TUBE_GAIN_GROUP_H
#define COMMON_TUBE_TUBE_GAIN_GROUP_H

#include "tube_gain_table.h"

/// Linear filters in front of the grid
INLINE void
filter(work* k)
{
  const group* const sample = FIXED(k, sample);
  const group* const low_by = FIXED(k, low_by_sample);
  group* const       u      = MEMORY(k, u);
  group* const       low    = MEMORY(k, low);
  group* const       grid   = MEMORY(k, grid);

  group in[TUBE_GROUP_MAX];
  SPREAD(&k->in, 0, &in[0]);
  SPREAD(&k->in, 1, &in[1]);
  SPREAD(&k->in, 2, &in[2]);
  SPREAD(&k->in, 3, &in[3]);
  EACH(h)
  {
    const vec sum =
      (sample[0].v[h] * in[0].v[h] + sample[1].v[h] * in[1].v[h]) +
      (sample[2].v[h] * in[2].v[h] + sample[3].v[h] * in[3].v[h]);
    const vec next =
      (low_by[0].v[h] * in[0].v[h] + low_by[1].v[h] * in[1].v[h]) +
      (low_by[2].v[h] * in[2].v[h] + low_by[3].v[h] * in[3].v[h]);
    k->u.v[h] =
      sum +
      (FIXED(k, before)->v[h] * u->v[h] + FIXED(k, low)->v[h] * low->v[h]) +
      FIXED(k, grid)->v[h] * grid->v[h];
    low->v[h] = next + (FIXED(k, low_by_before)->v[h] * u->v[h] +
                        FIXED(k, low_by_low)->v[h] * low->v[h]);
  }
  copy_group(&in[3], u);
  SPREAD(&k->u, 3, grid);
  EACH(h)
  {
    k->u.v[h] = MIN(k->u.v[h], FIXED(k, limit)->v[h]);
  }
}

/// Where the grid source will be, if its capacitors go on as in the last two
/// groups
INLINE void
expect(work* k)
{
  const group* const rate   = MEMORY(k, held_rate);
  const group* const before = MEMORY(k, held_rate_before);
  group              rest;
  SPREAD(&k->rest, TUBE_REST_A, &rest);
  EACH(h)
  {
    // The rate comes last
    const vec bend  = FIXED(k, drift_by_before)->v[h] * before->v[h];
    const vec start = (k->u.v[h] + rest.v[h]) - MEMORY(k, held)->v[h];
    k->drift.v[h]   = FIXED(k, drift_by_rate)->v[h] * rate->v[h] - bend;
    k->a.v[h] = (start + bend) - FIXED(k, seen_by_rate)->v[h] * rate->v[h];
  }
}

/// What the capacitors lose in this group, and their part of load and b
INLINE void
take_caps(work* k)
{
  const group* const cap  = MEMORY(k, cap);
  const group* const rate = MEMORY(k, rate);

  group mid, cathode, coupling, leak, load_rate;
  EACH(h)
  {
    mid.v[h]     = cap->v[h] + 0.5 * rate->v[h];
    k->leak.v[h] = FIXED(k, leak)->v[h] * mid.v[h];
  }
  SPREAD(&mid, TUBE_CATHODE, &cathode);
  SPREAD(&mid, TUBE_COUPLING, &coupling);
  EACH(h)
  {
    k->held_leak.v[h] = FIXED(k, held_by_cathode)->v[h] * cathode.v[h] +
                        FIXED(k, held_by_coupling)->v[h] * coupling.v[h];
  }
  SPREAD(cap, TUBE_CATHODE, &k->cathode);
  SPREAD(cap, TUBE_LOAD, &k->load);
  SPREAD(rate, TUBE_LOAD, &load_rate);
  SPREAD(&k->leak, TUBE_CATHODE, &leak);
  EACH(h)
  {
    k->load_held.v[h] = FIXED(k, load_by_cap)->v[h] * k->load.v[h] +
                        FIXED(k, load_by_rate)->v[h] * load_rate.v[h];
    k->b_held.v[h] = FIXED(k, load_share)->v[h] * k->load.v[h] -
                     (k->cathode.v[h] - 1.5 * leak.v[h]);
  }
}

/// 1 / step of the grid source, to each sample
INLINE void
invert(work* k)
{
  group before;
  behind(MEMORY(k, a), &k->a, &before);
  EACH(h)
  {
    const vec step   = k->a.v[h] - before.v[h];
    const vec size   = (vec)((ints)step & INT64_MAX);
    k->slow[h]       = LESS(size, ALL(MIN_MOTION_V));
    k->per_step.v[h] = 1.0 / SELECT(k->slow[h], ALL(1.0), step);
  }
  copy_group(&k->a, MEMORY(k, a));
}

/// Mean plate current, less that at rest, and its mean slope
INLINE void
take_mean(work* k)
{
  group f_before, s_before, rest;
  behind(&k->f_start, &k->f, &f_before);
  behind(&k->s_start, &k->s, &s_before);
  SPREAD(&k->rest, TUBE_REST_IA, &rest);
  EACH(h)
  {
    const vec mean = (k->f.v[h] - f_before.v[h]) * k->per_step.v[h];
    k->ia.v[h]     = SELECT(k->slow[h], k->s.v[h], mean) - rest.v[h];
    k->slope.v[h]  = (k->s.v[h] - s_before.v[h]) * k->per_step.v[h];
  }
}

/// What the capacitors in front of the grid do in this group, but for what the
/// next step puts right: from there the next group starts
INLINE void
sense(work* k)
{
  group* const held   = MEMORY(k, held);
  group* const rate   = MEMORY(k, held_rate);
  group* const before = MEMORY(k, held_rate_before);

  group moved, sum, total, coupling;
  EACH(h)
  {
    moved.v[h] = FIXED(k, held_by_ia)->v[h] * k->ia.v[h] +
                 (FIXED(k, held_by_ig)->v[h] * k->ig.v[h] - k->held_leak.v[h]);
  }
  total_of(&moved, &total);
  running_sum(&moved, &sum);
  SPREAD(MEMORY(k, cap), TUBE_COUPLING, &coupling);
  EACH(h)
  {
    const vec now   = k->cathode.v[h] + FIXED(k, divider)->v[h] * coupling.v[h];
    const vec ahead = (held->v[h] + rate->v[h]) - now;
    k->off.v[h]     = sum.v[h] - (k->drift.v[h] + ahead);
    before->v[h]    = rate->v[h];
    rate->v[h]      = total.v[h];
    held->v[h]      = now;
  }
}

/// Where that puts b in the middle of the next group
INLINE void
sense_b(work* k)
{
  group load, both, sums;
  EACH(h)
  {
    load.v[h] = k->load_held.v[h] - FIXED(k, plate)->v[h] * k->ia.v[h];
    both.v[h] =
      (vec)((ints)(k->ia.v[h] + k->ig.v[h]) & (ints)FIXED(k, real)->v[h]);
  }
  sums_of_two(&load, &both, &sums);
  EACH(h)
  {
    sums.v[h] *= FIXED(k, b_by_sums)->v[h];
  }
  add_neighbours(&sums, &sums);
  EACH(h)
  {
    MEMORY(k, b_held)->v[h] = k->b_held.v[h] + sums.v[h];
  }
}

/// Put right what the capacitors did otherwise than expected, to first order
INLINE void
correct(work* k)
{
  group before;
  behind(MEMORY(k, off), &k->off, &before);
  EACH(h)
  {
    k->ia.v[h] -= k->slope.v[h] * (0.5 * (k->off.v[h] + before.v[h]));
  }
  copy_group(&k->off, MEMORY(k, off));
}

/// Output voltage, and what charges the load's capacitor; means over a sample
/// belong to its middle
INLINE void
output(work* k)
{
  group load;
  EACH(h)
  {
    // With the capacitor as it is expected
    load.v[h] = k->load_held.v[h] - FIXED(k, plate)->v[h] * k->ia.v[h];
  }
  running_sum(&load, &k->so_far);
  EACH(h)
  {
    const vec now = k->load.v[h] + FIXED(k, load_charge)->v[h] *
                                     (k->so_far.v[h] - 0.5 * load.v[h]);
    k->out.v[h] =
      FIXED(k, out_by_cap)->v[h] * now - FIXED(k, out_by_ia)->v[h] * k->ia.v[h];
  }
}

/// What the capacitors did in this group
INLINE void
charge(work* k)
{
  group both, ig, sums;
  EACH(h)
  {
    // Of the samples that there are
    const ints real = (ints)FIXED(k, real)->v[h];
    both.v[h]       = (vec)((ints)(k->ia.v[h] + k->ig.v[h]) & real);
    ig.v[h]         = (vec)((ints)k->ig.v[h] & real);
  }
  join_sums(&both, &ig, &k->so_far, &sums);
  EACH(h)
  {
    const vec rate = sums.v[h] * FIXED(k, charge)->v[h] - k->leak.v[h];
    MEMORY(k, cap)->v[h] += rate;
    MEMORY(k, rate)->v[h] = rate;
  }
}

#endif // COMMON_TUBE_TUBE_GAIN_GROUP_H
