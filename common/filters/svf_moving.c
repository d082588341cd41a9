// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "svf_moving.h"

#include "common/core/fastmath.h"
#include "svf_ramps.h"
#include "svf_row.h"

static inline f64x2
first_two(f32x4 x)
{
  return (f64x2){(double)x[0], (double)x[1]};
}

static inline f64x2
last_two(f32x4 x)
{
  return (f64x2){(double)x[2], (double)x[3]};
}

/// Runs one filter, the channels side by side
WIDE_CLONES static void
run_one(svf* f, f64x2* x, uint32_t n)
{
  ramps r  = ramps_of(&f->g, &f->k, &f->m0, &f->m1);
  ramp  m2 = f->m2;
  f64x2 i1 = f->i1;
  f64x2 i2 = f->i2;
  for (uint32_t i = 0; i < n; ++i) {
    const f32x4  c   = ramps_next(&r);
    const f64x2  gk  = first_two(c);
    const f64x2  m01 = last_two(c);
    const double g   = gk[0];
    const double a   = 1.0 / (1.0 + g * (g + gk[1]));
    const f64x2  v1  = a * (i1 + g * (x[i] - i2));
    const f64x2  v2  = i2 + g * v1;
    i1               = 2.0 * v1 - i1;
    i2               = 2.0 * v2 - i2;
    x[i] = m01[0] * x[i] + m01[1] * v1 + (double)ramp_next(&m2) * v2;
  }
  f->i1 = i1;
  f->i2 = i2;
  f->m2 = m2;
  ramps_store(&r, 0, &f->g);
  ramps_store(&r, 1, &f->k);
  ramps_store(&r, 2, &f->m0);
  ramps_store(&r, 3, &f->m1);
}

/// Returns how many move, from the first on
static uint32_t
count_moving(const svf* f, uint32_t n_filters)
{
  uint32_t j = 0;
  while (j < n_filters && f[j].moving) {
    ++j;
  }
  return j;
}

uint32_t
svf_run_moving(svf*     f,
               uint32_t n_filters,
               f64x2*   x,
               uint32_t n_channels,
               uint32_t n)
{
  const uint32_t n_moving = count_moving(f, n_filters);
  if (n_channels == 1 && n_moving >= 4 && n >= 4) {
    svf_row_run_four(f, x, n);
    return 4;
  }
  if (n_moving >= 2 && n >= 2) {
    svf_row_run_two(f, x, n);
    return 2;
  }
  run_one(f, x, n);
  return 1;
}
