// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "pick_edge.h"

#include "common/core/fastmath.h"

#include <string.h>

#define CURVE_A 0.7
#define CURVE_B 0.25
#define CURVE_T 0.17323515783466012 // tanh(a b)

/// The definition, which the stage does not ask
double
pick_edge_curve(double x)
{
  return (tanh(CURVE_A * (x + CURVE_B)) - CURVE_T) /
         (CURVE_A * (1.0 - CURVE_T * CURVE_T));
}

void
pick_edge_init(pick_edge* e, double rate_hz)
{
  oversample_init(&e->over, oversample_factor(0, rate_hz));
  pick_edge_reset(e);
}

/// Turns inner samples into the mean of f(x) - x over the step to each.  The
/// input is taken as straight between samples, and the mean as that of the two
/// Gauss-Legendre points, 1/sqrt(3) of half a step off the middle.
WIDE_CLONES static void
saturate(pick_edge* e, float* x, uint32_t n)
{
  float step[OVERSAMPLE_MAX_SAMPLES + 1];
  step[0] = e->x;
  memcpy(step + 1, x, n * sizeof(float));
  e->x = step[n];

  const float a     = (float)CURVE_A;
  const float ab    = (float)(CURVE_A * CURVE_B);
  const float scale = (float)(1.0 / (CURVE_A * (1.0 - CURVE_T * CURVE_T)));
  for (uint32_t i = 0; i < n; ++i) {
    const float middle = 0.5F * (step[i + 1] + step[i]);
    const float off    = 0.28867513F * (step[i + 1] - step[i]);
    const float early  = fast_tanh(a * (middle - off) + ab);
    const float late   = fast_tanh(a * (middle + off) + ab);
    x[i] = scale * (0.5F * (early + late) - (float)CURVE_T) - middle;
  }
}

void
pick_edge_reset(pick_edge* e)
{
  oversample_reset(&e->over);
  e->x = 0.0F;
}

uint32_t
pick_edge_latency_frames(double rate_hz)
{
  return oversample_latency_frames(oversample_factor(0, rate_hz));
}

void
pick_edge_process(pick_edge* e, const float* in, float* out, uint32_t n)
{
  float inner[OVERSAMPLE_MAX_SAMPLES];
  oversample_up(&e->over, in, inner, n);
  saturate(e, inner, n * e->over.factor);
  oversample_down(&e->over, inner, out, n);
}
