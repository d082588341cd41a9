// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "leveler_sound.h"

#include <string.h>

enum {
  TONE_HZ     = 1000, ///< Above all detector low cuts
  LINES       = 30,   ///< Lines of the control grid between two points: 20 ms
  COARSE_STEP = 4,    ///< Only each fourth level while a hand moves
};

#define ROW(field) ((int)(offsetof(bus_leveler_params, field) / sizeof(float)))

#define LOUD_DBFS (-12.0) // 3 dB above the alignment level, as a sine's peak

bus_leveler_params
leveler_params_of(const float* values)
{
  bus_leveler_params p;
  memcpy(&p, values, sizeof(p));
  return p;
}

// ---------------------------------------------------------------------------
// Probes

/// Where the cell settles does not depend on how it gets there
uint32_t
leveler_law_inputs(const picture_view* v, float* inputs)
{
  bus_leveler_params p = leveler_params_of(v->values);
  p.speed_pc           = 400.0F;
  p.memory             = 0.0F;
  p.low_cut_hz         = 20.0F;
  memcpy(inputs, &p, sizeof(p));
  return bus_leveler_n_params;
}

/// Gain of a tone that has sounded for long
static bool
find_gain(probe* p, double dbfs, double* gain)
{
  const probe_tone tone = {
    .hz = TONE_HZ, .peak = db_to_gain(dbfs), .settle_s = 0.3, .count_s = 0.01};
  probe_answer a;
  if (!probe_sine(p, &tone, 1, &a)) {
    return false;
  }
  *gain = fmax(a.amplitude[1], 1e-9) / tone.peak;
  return true;
}

static bool
find_law(probe* p, leveler_law* r, uint32_t step)
{
  for (uint32_t i = 0; i < LEVELER_LEVELS; i += step) {
    double gain = 0.0;
    if (!find_gain(p, (double)r->in_dbfs[i], &gain)) {
      return false;
    }
    r->gain_db[i] = (float)gain_to_db(gain / (double)r->soft_gain);
    for (uint32_t k = 1; k < step && i >= step; ++k) { // Those left out
      const float u = (float)k / (float)step;
      r->gain_db[i - step + k] =
        r->gain_db[i - step] + u * (r->gain_db[i] - r->gain_db[i - step]);
    }
  }
  return true;
}

/// Gain at LEVELER_RATIO_DBFS with another ratio
static bool
find_end(probe* p, bus_leveler_params set, float ratio, float* gain_db)
{
  double loud = 0.0;
  double soft = 0.0;
  set.ratio   = ratio;
  probe_set(p, (const float*)&set);
  if (!find_gain(p, LEVELER_RATIO_DBFS, &loud) ||
      !find_gain(p, -100.0, &soft)) {
    return false;
  }
  *gain_db = (float)gain_to_db(loud / soft);
  return true;
}

bool
leveler_law_compute(probe* p, const float* inputs, bool is_coarse, void* result)
{
  leveler_law* const r     = result;
  double             soft  = 0.0;
  const param_info*  ratio = &bus_leveler_param_info[ROW(ratio)];
  picture_spread(r->in_dbfs, LEVELER_LEVELS, LEVELER_LOWEST_DBFS, 0.0, false);
  if (!find_gain(p, -100.0, &soft)) {
    return false;
  }
  r->soft_gain = (float)soft;
  return find_law(p, r, is_coarse ? COARSE_STEP : 1) &&
         find_end(p, leveler_params_of(inputs), ratio->min, &r->flat_db) &&
         find_end(p, leveler_params_of(inputs), ratio->max, &r->steep_db);
}

/// The cell knows neither blend nor make-up
uint32_t
leveler_release_inputs(const picture_view* v, float* inputs)
{
  bus_leveler_params p = leveler_params_of(v->values);
  p.makeup             = 1.0F;
  p.makeup_db          = 0.0F;
  p.blend_pc           = 100.0F;
  memcpy(inputs, &p, sizeof(p));
  return bus_leveler_n_params;
}

/// Plays a loud tone, whole periods of 48 frames, and then nothing
static bool
let_go(probe* p, uint32_t loud_s, float* gain_db)
{
  enum { PERIOD = 48, FRAMES = LINES * CONTROL_FRAMES };
  static const float silence[FRAMES];
  float              tone[10 * PERIOD];
  float              out[FRAMES];
  for (uint32_t i = 0; i < 10 * PERIOD; ++i) {
    tone[i] =
      (float)(db_to_gain(LOUD_DBFS) * sin(2 * DSP_PI * (i % PERIOD) / PERIOD));
  }
  probe_reset(p);
  for (uint32_t i = 0; i < 100 * loud_s; ++i) {
    if (!probe_play_one(p, tone, out, 10 * PERIOD)) {
      return false;
    }
  }
  for (uint32_t i = 0; i < LEVELER_STEPS; ++i) {
    bus_leveler_meters m = {0};
    probe_meter(p, &m);
    gain_db[i] = -m.reduction_db;
    if (!probe_play_one(p, silence, out, FRAMES)) {
      return false;
    }
  }
  return true;
}

/// Time at which a share of the first reduction is left
static float
time_of(const leveler_release* r, float left)
{
  const float at_db = left * r->soon_db[0];
  for (uint32_t i = 1; i < LEVELER_STEPS; ++i) {
    const float a = r->soon_db[i - 1];
    const float b = r->soon_db[i];
    if (a <= at_db && b > at_db) {
      return r->t_s[i - 1] +
             (r->t_s[i] - r->t_s[i - 1]) * (at_db - a) / (b - a);
    }
  }
  return NAN;
}

bool
leveler_release_compute(probe*       p,
                        const float* inputs,
                        bool         is_coarse,
                        void*        result)
{
  leveler_release* const r = result;
  (void)inputs;
  (void)is_coarse;
  picture_spread(r->t_s, LEVELER_STEPS, 0.0, LEVELER_SHOWN_S, false);
  if (!let_go(p, 1, r->soon_db) || !let_go(p, 20, r->late_db)) {
    return false;
  }
  r->half_s = time_of(r, 0.5F);
  r->most_s = time_of(r, 0.1F);
  return true;
}
