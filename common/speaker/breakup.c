// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "breakup_lanes.h"

#include "common/core/solve.h"

#include <complex.h>
#include <stddef.h>
#include <string.h>

// Longest delay of the resonator
#define DELAY_S 23e-6

uint32_t
breakup_delay(uint32_t factor, double outer_rate_hz)
{
  const double most  = DELAY_S * factor * outer_rate_hz;
  uint32_t     delay = 1;
  while (delay < 4 && 2 * delay <= factor && 2.0 * delay <= most) {
    delay *= 2;
  }
  return delay;
}

void
breakup_init(breakup* b, uint32_t factor, double outer_rate_hz)
{
  b->rate_hz = factor * outer_rate_hz;
  b->factor  = factor;
  b->delay   = breakup_delay(factor, outer_rate_hz);
  breakup_reset(b);
}

static void
forget_signal(breakup* b)
{
  memset(b->memory, 0, sizeof(b->memory));
  for (uint32_t k = 0; k < MAX_CHANNELS; ++k) {
    b->memory[k].f = 1.0F;
  }
}

void
breakup_reset(breakup* b)
{
  forget_signal(b);
  b->phase = 0;
}

void
breakup_design(double f0_hz, uint32_t delay, double rate_hz, double coefs[4])
{
  // With e = exp(-jw), at w0 and to first order around it,
  //   (1 - e) (n0 + n1 e) = target exp(jwu) (1 + a1 e + a2 e^2)
  // is linear in the unknowns.  The target is the band-pass over the half
  // sample that the saturator's average takes, cos(w/2) exp(-jw/2).
  const double w    = 2.0 * DSP_PI * f0_hz / rate_hz;
  const double late = 2.0 * BREAKUP_Q / w; // Group delay of the band-pass

  const double complex i = (double complex)_Complex_I;
  const double complex e = steady_cexp(-i * w);
  const double complex target =
    steady_cexp(i * w * (delay + 0.5)) / steady_cos(0.5 * w);
  const double complex slope =
    i * (delay + 0.5 - late) + 0.5 * steady_tan(0.5 * w); // Of ln target

  const double complex value[4]      = {(1.0 - e), e * (1.0 - e), -target * e,
                                        -target * e * e};
  const double complex derivative[4] = {
    i * e,
    -i * e + 2.0 * i * e * e,
    -target * e * (slope - i),
    -target * e * e * (slope - 2.0 * i),
  };

  double a[4][5];
  for (int k = 0; k < 4; ++k) {
    a[0][k] = creal(value[k]);
    a[1][k] = cimag(value[k]);
    a[2][k] = w * creal(derivative[k]);
    a[3][k] = w * cimag(derivative[k]);
  }
  a[0][4] = creal(target);
  a[1][4] = cimag(target);
  a[2][4] = w * creal(target * slope);
  a[3][4] = w * cimag(target * slope);
  for (uint32_t k = 0; k < 4; ++k) {
    solve_step(a[0], 4, 5, k);
    solve_divide(a[0], 5, k);
  }

  coefs[0] = 1.0 + a[2][4] + a[3][4];
  coefs[1] = a[3][4];
  coefs[2] = a[0][4];
  coefs[3] = a[1][4];
}

void
breakup_set_resonance(breakup* b, double f0_hz)
{
  for (uint32_t i = 0; i < MOVING_DESIGN_PLACES; ++i) {
    const double fall_oct = moving_design_place(i, BREAKUP_MAX_FALL_OCT);
    breakup_design(f0_hz * steady_exp2(-fall_oct), b->delay, b->rate_hz,
                   b->fallen[i]);
  }
  moving_design_differ(b->fallen[0], BREAKUP_COEFS, BREAKUP_MAX_FALL_OCT);
}

/// Sets the targets for the next grid line
static void
aim(breakup* b, double fall_oct)
{
  moving_design_value(b->fallen[0], BREAKUP_COEFS, BREAKUP_MAX_FALL_OCT,
                      fall_oct, b->to);
  if (b->delay == 4) {
    breakup_lanes_matrix(b->to, &b->matrix_to);
  }
}

void
breakup_snap(breakup* b, double fall_oct)
{
  aim(b, fall_oct);
  memcpy(b->now, b->to, sizeof(b->now));
  memset(b->step, 0, sizeof(b->step));
  b->matrix_now  = b->matrix_to;
  b->matrix_step = (breakup_matrix){0};
  b->phase       = 0;
}

void
breakup_push(breakup* b, double fall_oct)
{
  memcpy(b->now, b->to, sizeof(b->now));
  b->matrix_now = b->matrix_to;
  aim(b, fall_oct);
  for (int k = 0; k < BREAKUP_COEFS; ++k) {
    b->step[k] = (b->to[k] - b->now[k]) / CONTROL_FRAMES;
  }
  for (int k = 0; k < BREAKUP_ROWS; ++k) {
    b->matrix_step.row[k] =
      (b->matrix_to.row[k] - b->matrix_now.row[k]) * (1.0F / CONTROL_FRAMES);
  }
  b->phase = 0;
}

/// Runs one channel, sample by sample.  The resonator goes by its steps, dr =
/// a2 dr - (1 + a1 + a2) r + input; r += dr, which in float keeps frequencies
/// far below the rate exact.
static inline __attribute__((always_inline)) void
run(const breakup*       b,
    const breakup_moves* moves,
    breakup_memory*      m,
    float*               w,
    uint32_t             delay,
    uint32_t             factor,
    uint32_t             n)
{
  float line[BREAKUP_HISTORY + OVERSAMPLE_MAX_SAMPLES];
  memcpy(line, m->y, sizeof(m->y));

  float* restrict y = line + BREAKUP_HISTORY;
  const float share = 1.0F / (float)factor;
  float       r     = m->r;
  float       dr    = m->dr;
  float       d0    = m->d;
  float       f0    = m->f;
  for (uint32_t i = 0; i < n; ++i) {
    const double t          = b->phase + i;
    const float  e          = (float)(b->now[0] + b->step[0] * t);
    const float  a2         = (float)(b->now[1] + b->step[1] * t);
    const float  n0         = (float)(b->now[2] + b->step[2] * t);
    const float  n1         = (float)(b->now[3] + b->step[3] * t);
    const float  feedback   = moves->feedback[i];
    const float* drive      = moves->drive + i;
    const float* dry        = moves->dry + i;
    const float* wet        = moves->wet + i;
    const float  drive_step = share * (drive[0] - drive[-1]);
    const float  dry_step   = share * (dry[0] - dry[-1]);
    const float  wet_step   = share * (wet[0] - wet[-1]);
    for (uint32_t j = 0; j < factor; ++j) {
      const float* const was = y - delay;
      const float        x = n0 * (was[0] - was[-1]) + n1 * (was[-1] - was[-2]);
      const float        at = (float)(j + 1);
      dr                    = (a2 * dr - e * r) + x;
      r += dr;
      const float d1 = (drive[-1] + at * drive_step) * *w + feedback * r;
      const float f1 = sqrtf(1.0F + d1 * d1);
      *y             = (d1 + d0) / (f1 + f0);
      *w = (dry[-1] + at * dry_step) * *w + (wet[-1] + at * wet_step) * *y;
      d0 = d1;
      f0 = f1;
      ++w;
      ++y;
    }
  }
  m->r  = r;
  m->dr = dr;
  m->d  = d0;
  m->f  = f0;
  memcpy(m->y, y - BREAKUP_HISTORY, sizeof(m->y));
}

/// Runs channel k
static void
run_channel(breakup*             b,
            const breakup_moves* moves,
            uint32_t             k,
            float*               w,
            uint32_t             n)
{
  breakup_memory* const m = &b->memory[k];
  if (b->delay == 2 && b->factor == 2) {
    run(b, moves, m, w, 2, 2, n);
  } else {
    run(b, moves, m, w, b->delay, b->factor, n);
  }
}

void
breakup_process(breakup*             b,
                const breakup_moves* moves,
                float* const*        samples,
                uint32_t             n_channels,
                uint32_t             n)
{
  if (b->delay == 4) {
    breakup_lanes_run(b, moves, samples, n_channels, n);
  } else {
    for (uint32_t k = 0; k < n_channels; ++k) {
      run_channel(b, moves, k, samples[k], n);
    }
  }
  b->phase += n;
}

/// Applies the dry gain alone to one channel
static inline __attribute__((always_inline)) void
pass(const float* dry, float* w, uint32_t factor, uint32_t n)
{
  const float share = 1.0F / (float)factor;
  for (uint32_t i = 0; i < n; ++i) {
    const float from = dry[(int32_t)i - 1];
    const float step = share * (dry[i] - from);
    for (uint32_t j = 0; j < factor; ++j) {
      w[factor * i + j] *= from + (float)(j + 1) * step;
    }
  }
}

void
breakup_pass(breakup*             b,
             const breakup_moves* moves,
             float* const*        samples,
             uint32_t             n_channels,
             uint32_t             n)
{
  for (uint32_t k = 0; k < n_channels; ++k) {
    if (b->factor == 4) {
      pass(moves->dry, samples[k], 4, n);
    } else {
      pass(moves->dry, samples[k], b->factor, n);
    }
  }
  forget_signal(b);
  b->phase += n;
}
