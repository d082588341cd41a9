// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "crest_timing.h"

#define DETECTOR_S    0.2
#define FLOOR2        1e-9 // -90 dBFS: silence has a crest factor too
#define ATTACK_MAX_S  0.020
#define RELEASE_MAX_S 0.400

void
crest_timing_init(crest_timing* c, double rate_hz)
{
  const double share = one_pole_share(DETECTOR_S, rate_hz);
  for (uint32_t i = 0; i < CONTROL_FRAMES; ++i) {
    c->weights[i] =
      (float)(share * steady_pow(1.0 - share, CONTROL_FRAMES - 1 - i));
  }
  c->keep = steady_pow(1.0 - share, CONTROL_FRAMES);
  crest_timing_reset(c);
}

void
crest_timing_reset(crest_timing* c)
{
  c->peak2 = c->rms2 = FLOOR2;
}

void
crest_timing_update(crest_timing* c, const float* squares)
{
  // Four sums side by side: one would be slower, and the order is fixed
  float sum[4]  = {0.0F};
  float most[4] = {0.0F};
  for (uint32_t i = 0; i < CONTROL_FRAMES; i += 4) {
    for (uint32_t k = 0; k < 4; ++k) {
      const float x2 = squares[i + k];
      sum[k] += c->weights[i + k] * x2;
      most[k] = most[k] > x2 ? most[k] : x2;
    }
  }
  const double mean =
    (double)((sum[0] + sum[1]) + (sum[2] + sum[3])) + FLOOR2 * (1.0 - c->keep);
  const double peak =
    (double)fmaxf(fmaxf(most[0], most[1]), fmaxf(most[2], most[3]));

  // Exact except for the droop of a peak within the line, 0.015 dB at 48 kHz
  const double fallen = c->keep * c->peak2 + mean;
  c->peak2            = peak > fallen ? peak : fallen;
  c->rms2             = c->keep * c->rms2 + mean;
}

double
crest_timing_crest2(const crest_timing* c)
{
  return c->peak2 / c->rms2;
}

compressor_times
crest_timing_law(double crest2, double attack_max_s, double release_max_s)
{
  const double attack_s = 2.0 * attack_max_s / crest2;
  return (compressor_times){attack_s, 2.0 * release_max_s / crest2 - attack_s};
}

compressor_times
crest_timing_times(const crest_timing* c)
{
  const compressor_times t =
    crest_timing_law(crest_timing_crest2(c), ATTACK_MAX_S, RELEASE_MAX_S);
  return (compressor_times){clampd(t.attack_s, 0.002, 0.030),
                            clampd(t.release_s, 0.060, 0.600)};
}
