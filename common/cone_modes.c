// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "cone_modes.h"

#define LOW_HZ  500.0
#define HIGH_HZ 750.0

// h per force, and the force's direct way into the modes
#define PUMP 0.5
#define EPS  1e-3

// Most that the force may take from or give to the stiffness
#define MOST 0.9

// Of both modes in the sound
#define GAIN 0.075

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

void
cone_modes_process(cone_modes*   m,
                   const float*  hard,
                   const float*  share,
                   float* const* x,
                   uint32_t      n_channels,
                   uint32_t      n)
{
  const f64x2 a     = m->a;
  const f64x2 aa    = a * a;
  const f64x2 still = 1.0 + 2.0 * CONE_MODES_ZETA * a;
  for (uint32_t k = 0; k < n_channels; ++k) {
    f64x2 q = m->q[k];
    f64x2 r = m->r[k];
    for (uint32_t i = 0; i < n; ++i) {
      const double p = (double)x[k][i];
      const double h = PUMP * (double)hard[i] * p;
      const double w = 1.0 + clampd(h, -MOST, MOST);

      // The middle of the frame: the cubic force is mid * q * (q + q')
      const f64x2 mid = q + a * r;
      const f64x2 v   = (r - a * ((w * q - EPS * p) + mid * (q * q))) /
                      ((still + aa * w) + 2.0 * (a * mid) * (a * mid));
      q += 2.0 * a * v;
      r = 2.0 * v - r;
      x[k][i] += share[i] * (float)(GAIN * (q[0] + q[1]));
    }
    m->q[k] = q;
    m->r[k] = r;
  }
}
