// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "proximity_sound.h"

#include <string.h>

#define CLICK 0.01F

// The bass of an omni is that of far away; high enough for the lift's detector,
// and for the filters below the hearing to leave it alone
#define OMNI    0.0F
#define TONE_HZ 1000.0

enum { FRAMES = 16384, COARSE_FRAMES = 8192, COARSE_STEP = 4 };

proximity_lift_params
proximity_params_of(const float* values)
{
  proximity_lift_params p;
  memcpy(&p, values, sizeof(p));
  return p;
}

// ---------------------------------------------------------------------------
// Bass

uint32_t
near_bass_inputs(const picture_view* v, float* inputs)
{
  proximity_lift_params p = proximity_params_of(v->values);
  p.lift_db               = 0;
  p.lift_below_db         = -36;
  p.floor_db              = -70;
  memcpy(inputs, &p, sizeof(p));
  return proximity_lift_n_params;
}

static bool
hear_distance(probe*                p,
              proximity_lift_params set,
              float                 distance_cm,
              bool                  is_coarse,
              const near_bass*      r,
              float*                db)
{
  set.distance_cm = distance_cm;
  probe_set(p, (const float*)&set);
  return probe_response(p, CLICK, is_coarse ? COARSE_FRAMES : FRAMES, r->hz, db,
                        NEAR_N_HZ);
}

bool
near_bass_compute(probe* p, const float* inputs, bool is_coarse, void* result)
{
  near_bass* const            r   = result;
  const proximity_lift_params set = proximity_params_of(inputs);
  picture_spread(r->hz, NEAR_N_HZ, NEAR_LOWEST_HZ, NEAR_HIGHEST_HZ, true);
  return hear_distance(p, set, set.distance_cm, is_coarse, r, r->db) &&
         hear_distance(p, set, NEAR_FAR_CM, is_coarse, r, r->far_db) &&
         hear_distance(p, set, NEAR_FARTHEST_CM, is_coarse, r, r->farthest_db);
}

// ---------------------------------------------------------------------------
// Detail

uint32_t
detail_law_inputs(const picture_view* v, float* inputs)
{
  proximity_lift_params p = proximity_params_of(v->values);
  p.distance_cm           = 100;
  p.source_cm             = 0;
  p.pattern               = OMNI;
  memcpy(inputs, &p, sizeof(p));
  return proximity_lift_n_params;
}

static bool
hear_level(probe* p, double dbfs, float* db)
{
  // Ten times as long as the slowest part of the detector
  const probe_tone tone = {.hz       = TONE_HZ,
                           .peak     = db_to_gain(dbfs) * sqrt(2.0),
                           .settle_s = 0.6,
                           .count_s  = 0.02};
  probe_answer     a;
  if (!probe_sine(p, &tone, 1, &a)) {
    return false;
  }
  *db = (float)gain_to_db(a.amplitude[1] / tone.peak);
  return true;
}

bool
detail_law_compute(probe* p, const float* inputs, bool is_coarse, void* result)
{
  detail_law* const r    = result;
  const uint32_t    step = is_coarse ? COARSE_STEP : 1;
  picture_spread(r->dbfs, DETAIL_N, DETAIL_LOWEST_DBFS, 0.0, false);
  probe_set(p, inputs);
  if (!hear_level(p, -140.0, &r->rest_db)) {
    return false;
  }
  for (uint32_t i = 0; i < DETAIL_N; i += step) {
    if (!hear_level(p, (double)r->dbfs[i], &r->db[i])) {
      return false;
    }
    for (uint32_t k = 1; k < step && i >= step; ++k) { // Those left out
      const float u       = (float)k / (float)step;
      r->db[i - step + k] = r->db[i - step] + u * (r->db[i] - r->db[i - step]);
    }
  }
  return true;
}
