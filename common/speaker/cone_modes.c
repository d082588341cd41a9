// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "common/core/fastmath.h"
#include "cone_modes_run.h"

#define LOW_HZ  500.0
#define HIGH_HZ 750.0

void
cone_modes_init(cone_modes* m, cone_size size, double rate_hz)
{
  const double a = DSP_PI / (cone_scale(size) * rate_hz);
  m->a           = (f64x2){LOW_HZ * a, HIGH_HZ * a};
  cone_modes_reset(m);
}

void
cone_modes_reset(cone_modes* m)
{
  for (uint32_t k = 0; k < MAX_CHANNELS; ++k) {
    m->q[k] = m->r[k] = (f64x2){0.0, 0.0};
  }
}

WIDE_CLONES static void
process(cone_modes*   m,
        const float*  hard,
        const float*  share,
        float* const* x,
        uint32_t      n_channels,
        uint32_t      n)
{
  cone_modes_run run;
  cone_modes_begin(&run, m);
  for (uint32_t i = 0; i < n; ++i) {
    const float now[MAX_CHANNELS] = {x[0][i], x[n_channels - 1][i]};
    cone_modes_next(&run, hard[i], now);
    for (uint32_t k = 0; k < n_channels; ++k) {
      x[k][i] += share[i] * cone_modes_sound(&run, k);
    }
  }
  cone_modes_end(m, &run);
}

void
cone_modes_process(cone_modes*   m,
                   const float*  hard,
                   const float*  share,
                   float* const* x,
                   uint32_t      n_channels,
                   uint32_t      n)
{
  process(m, hard, share, x, n_channels, n);
}
