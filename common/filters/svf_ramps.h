// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Moving coefficients, those of several filters side by side.  Part of
/// svf_moving.c.

#ifndef COMMON_FILTERS_SVF_RAMPS_H
#define COMMON_FILTERS_SVF_RAMPS_H

#include "svf.h"

/// Four coefficients side by side
typedef struct {
  f32x4 v, d, dd;
} ramps;

static inline ramps
ramps_of(const ramp* a, const ramp* b, const ramp* c, const ramp* e)
{
  return (ramps){.v  = {a->v, b->v, c->v, e->v},
                 .d  = {a->d, b->d, c->d, e->d},
                 .dd = {a->dd, b->dd, c->dd, e->dd}};
}

/// Does as ramp_next(), lane by lane
static inline f32x4
ramps_next(ramps* r)
{
  const f32x4 v = r->v;
  r->v += r->d;
  r->d += r->dd;
  return v;
}

/// Stores how far a lane has come
static inline void
ramps_store(const ramps* r, uint32_t lane, ramp* to)
{
  to->v = r->v[lane];
  to->d = r->d[lane];
}

#endif // COMMON_FILTERS_SVF_RAMPS_H
