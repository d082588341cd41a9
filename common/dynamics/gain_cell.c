// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "gain_cell.h"

#include "common/core/fastmath.h"
#include "gain_computer.h"

#include <string.h>

#define MEAN_S 0.005

void
gain_cell_init(gain_cell* g, double rate_hz, uint32_t n_channels)
{
  g->rate_hz     = rate_hz;
  g->n_channels  = n_channels;
  g->glide_share = glide_share(rate_hz);
  g->smoothing   = one_pole_average(MEAN_S, rate_hz);
  g->peak_keep   = (float)steady_pow(10.0, -0.1 * GAIN_CELL_FALL_DB_PER_S *
                                             CONTROL_FRAMES / rate_hz);
  crest_timing_init(&g->timing, rate_hz);
}

void
gain_cell_set(gain_cell* g, const gain_cell_settings* s)
{
  glide_set(&g->threshold_db, s->threshold_db);
  glide_set(&g->slope, s->slope);
  glide_set(&g->knee_db, s->knee_db);
  glide_set(&g->averaging, s->is_programme ? 1.0 : 0.0);
  g->is_programme   = s->is_programme;
  g->manual_attack  = one_pole_share(s->manual.attack_s, g->rate_hz);
  g->manual_release = one_pole_share(s->manual.release_s, g->rate_hz);
}

void
gain_cell_reset(gain_cell* g)
{
  glide_snap(&g->threshold_db);
  glide_snap(&g->slope);
  glide_snap(&g->knee_db);
  glide_snap(&g->averaging);
  ramp_snap(&g->threshold, g->threshold_db.y);
  ramp_snap(&g->curve_slope, g->slope.y);
  ramp_snap(&g->knee, g->knee_db.y);
  ramp_snap(&g->averaged, g->averaging.y);

  crest_timing_reset(&g->timing);
  g->n_squares = 0;
  memset(&g->mean, 0, sizeof(g->mean));
  g->peak_power = 0.0F;
  g->reduction  = (follower){0};
}

/// one_pole_share() for a time of 16 frames or more, within 1e-9: 1 - exp(-x)
/// by a Pade approximant
static double
share_of_time(double tau_s, double rate_hz)
{
  const double x = 1.0 / (tau_s * rate_hz);
  return x / (1.0 + 0.5 * x + x * x / 12.0);
}

static void
renew_times(gain_cell* g)
{
  if (g->n_squares == CONTROL_FRAMES) { // Not on the first line
    crest_timing_update(&g->timing, g->squares);
  }
  g->n_squares = 0;
  if (g->is_programme) {
    const compressor_times t = crest_timing_times(&g->timing);
    g->attack                = share_of_time(t.attack_s, g->rate_hz);
    g->release               = share_of_time(t.release_s, g->rate_hz);
  } else {
    g->attack  = g->manual_attack;
    g->release = g->manual_release;
  }
}

void
gain_cell_control(gain_cell* g)
{
  const double share = g->glide_share;
  ramp_push(&g->threshold, glide_next(&g->threshold_db, share));
  ramp_push(&g->curve_slope, glide_next(&g->slope, share));
  ramp_push(&g->knee, glide_next(&g->knee_db, share));
  ramp_push(&g->averaged, glide_next(&g->averaging, share));
  g->peak_power *= g->peak_keep;
  renew_times(g);
}

/// Measures the squares of the louder channel, which the crest factor needs as
/// well, and their short mean.  Returns the squares.
static const float*
measure(gain_cell* g, const float* const* in, float* mean, uint32_t n)
{
  float* const       square = g->squares + g->n_squares;
  const float* const left   = in[0];
  const float* const right  = in[g->n_channels - 1];
  for (uint32_t i = 0; i < n; ++i) {
    const float a = left[i] * left[i];
    const float b = right[i] * right[i];
    square[i]     = a > b ? a : b;
  }
  g->n_squares += n;

  one_pole_run(&g->smoothing, &g->mean, square, mean, n);
  return square;
}

/// The static curve in each frame, and the reduction that it asks for
typedef struct {
  float threshold[CONTROL_FRAMES];
  float slope[CONTROL_FRAMES];
  float knee[CONTROL_FRAMES];
  float averaged[CONTROL_FRAMES];
  float mean[CONTROL_FRAMES];
  float power[CONTROL_FRAMES];
  float target_db[CONTROL_FRAMES];
} curve;

/// Computes the reduction from the rest
WIDE_CLONES static void
aim(curve* c, const float* square, uint32_t n)
{
  for (uint32_t i = 0; i < n; ++i) {
    // Twice the mean reads a sine as its peak.  -120 dBFS at least.
    const float x2 = square[i];
    // cppcheck-suppress uninitvar ; gain_cell_run() fills the first n
    const float p     = x2 + c->averaged[i] * (2.0F * c->mean[i] - x2);
    const float power = p > 1e-12F ? p : 1e-12F;
    const float level = 0.5F * DB_PER_OCTAVE * fast_log2(power);
    c->power[i]       = power;
    c->target_db[i]   = gain_computer_reduction_db(level - c->threshold[i],
                                                   c->slope[i], c->knee[i]);
  }
}

/// The highest of `n` powers, or `most`
static float
highest(const float* power, float most, uint32_t n)
{
  for (uint32_t i = 0; i < n; ++i) {
    // NOLINTNEXTLINE(clang-analyzer-core.UndefinedBinaryOperatorResult): filled
    most = power[i] > most ? power[i] : most;
  }
  return most;
}

void
gain_cell_run(gain_cell*          g,
              const float* const* in,
              float*              reduction_db,
              float*              lack_db,
              uint32_t            n)
{
  curve              c;
  const float* const square = measure(g, in, c.mean, n);
  ramp_values(&g->threshold, c.threshold, n);
  ramp_values(&g->curve_slope, c.slope, n);
  ramp_values(&g->knee, c.knee, n);
  ramp_values(&g->averaged, c.averaged, n);
  aim(&c, square, n);
  g->peak_power = highest(c.power, g->peak_power, n);

  follower     f       = g->reduction;
  const double attack  = g->attack;
  const double release = g->release;
  for (uint32_t i = 0; i < n; ++i) {
    reduction_db[i] = follower_next(&f, c.target_db[i], attack, release);
    const float gap = (float)(f.y1 - f.y);
    lack_db[i]      = gap > 0.0F ? gap : 0.0F;
  }
  g->reduction = f;
}

double
gain_cell_peak_db(const gain_cell* g)
{
  return fmax(0.5 * gain_to_db((double)g->peak_power + 1e-30), -120.0);
}
