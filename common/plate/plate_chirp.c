// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "plate_chirp.h"

#include "plate.h"

#define SECTIONS PLATE_CHIRP_SECTIONS
#define STEPS    PLATE_CHIRP_STEPS

/// Subtracted from the delay, so that the lateness at the top is shared
#define LEAD_S 80e-6

/// Highest pole, as a share of the rate
#define TOP 0.45

/// Sets the poles of one chain.  Returns the frames of delay that it lacks.
static double
fill_chain(plate_chirp* c, uint32_t chain, double rate_hz, double distance_m)
{
  const double reach = 0.5 * distance_m / sqrt(plate_stiffness()); // C
  const double root  = DSP_PI / (sqrt(2.0) * reach); // Of p_k, per (k - 1/2)
  double       above = 0.0;
  double       plain = 0.0;
  for (uint32_t k = 0; k < SECTIONS; ++k) {
    const double p = root * (k + 0.5) * root * (k + 0.5);
    double       a = 0.0; // A frame of delay
    if (p < 2.0 * DSP_PI * TOP * rate_hz) {
      const double t = steady_tan(0.5 * p / rate_hz);
      a              = (t - 1.0) / (t + 1.0);
      above          = root * (k + 1);
    } else {
      plain += 1.0;
    }
    c->pole[k % STEPS][chain + 2 * (k / STEPS)] = (float)a;
  }
  // The integral over the poles from `above`^2 on, where w is far below them
  const double missing = 4.0 * reach / (sqrt(2.0) * DSP_PI) / above;
  return (missing - LEAD_S) * rate_hz - plain - (SECTIONS - 1);
}

bool
plate_chirp_init(plate_chirp* c, double rate_hz, const double* distance_m)
{
  bool fits = true;
  for (uint32_t k = 0; k < 2; ++k) {
    const double lack = fill_chain(c, k, rate_hz, distance_m[k]);
    c->frames[k]      = (uint32_t)lround(fmax(lack, 0.0));
    fits              = fits && DELAY_HOLDS(PLATE_CHIRP_FRAMES, c->frames[k]);
    tap_line_init(&c->past[k], c->line[k], PLATE_CHIRP_FRAMES);
  }
  plate_chirp_reset(c);
  return fits;
}

void
plate_chirp_reset(plate_chirp* c)
{
  memset(c->memory, 0, sizeof(c->memory));
  memset(c->last, 0, sizeof(c->last));
  tap_line_reset(&c->past[0]);
  tap_line_reset(&c->past[1]);
}

void
plate_chirp_process(plate_chirp* c, float* left, float* right, uint32_t n)
{
  for (uint32_t i = 0; i < n; ++i) {
    const f32x4 end = c->last[STEPS - 1];
    f32x4       in  = {left[i], right[i], end[0], end[1]};
    for (uint32_t j = 0; j < STEPS; ++j) {
      const f32x4 out = c->pole[j] * in + c->memory[j];
      c->memory[j]    = in - c->pole[j] * out;
      in              = c->last[j];
      c->last[j]      = out;
    }
    left[i]  = c->last[STEPS - 1][2];
    right[i] = c->last[STEPS - 1][3];
  }
  float* const out[] = {left, right};
  for (uint32_t k = 0; k < 2; ++k) {
    tap_line_push(&c->past[k], out[k], n);
    memcpy(out[k], tap_line_at(&c->past[k], c->frames[k]), n * sizeof(float));
  }
}
