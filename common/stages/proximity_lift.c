// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "proximity_lift.h"

#include <string.h>

PARAMS_DEFINE(proximity_lift, PROXIMITY_LIFT_PARAMS)
METERS_DEFINE(proximity_lift, PROXIMITY_LIFT_METERS)

// Low end of a real microphone; our choice
#define LOW_END_HZ 20.0

// The transformer or the coupling behind it: flat within 0.03 dB from here on,
// where guitars and basses have their notes
#define EDGE_HZ 50.0

/// Share of pressure in first-order patterns (textbook values: Eargle 1994)
static const double pressure_share[] = {1.0, 0.7, 0.5, 0.366, 0.25, 0.0};

static mic_near_field_mix
mix_of(const proximity_lift* s, const proximity_lift_params* p)
{
  const double corner_hz = mic_near_field_corner_hz(
    pressure_share[(int)p->pattern], 0.01 * (double)p->distance_cm,
    0.01 * (double)p->source_cm);
  return mic_near_field_mix_of(corner_hz, LOW_END_HZ, s->rate_hz);
}

GLIDES_DEFINE(proximity_lift, PROXIMITY_LIFT_GLIDES)

bool
proximity_lift_init(proximity_lift* s, double rate_hz, uint32_t n_channels)
{
  s->rate_hz    = rate_hz;
  s->n_channels = n_channels;
  proximity_lift_glides_init(s, rate_hz);
  for (uint32_t k = 0; k < MAX_CHANNELS; ++k) {
    mic_near_field_pole_init(&s->pole[k], LOW_END_HZ, rate_hz);
  }
  infra_cut_init(&s->low_end, EDGE_HZ, rate_hz);
  detail_lift_init(&s->lift, rate_hz, n_channels);
  return true;
}

void
proximity_lift_set(proximity_lift* s, const proximity_lift_params* p)
{
  proximity_lift_glides_set(s, p);
  detail_lift_set(&s->lift, (double)p->lift_db, (double)p->lift_below_db,
                  (double)p->floor_db);
}

void
proximity_lift_reset(proximity_lift* s)
{
  proximity_lift_glides_snap(s);
  ramp_snap(&s->direct_ramp, s->direct.y);
  ramp_snap(&s->low_ramp, s->low.y);
  for (uint32_t k = 0; k < MAX_CHANNELS; ++k) {
    s->pole[k].z = 0.0;
  }
  memset(s->below, 0, sizeof(s->below));
  detail_lift_reset(&s->lift);
}

void
proximity_lift_control(proximity_lift* s)
{
  (void)proximity_lift_glides_next(s);
  ramp_push(&s->direct_ramp, s->direct.y);
  ramp_push(&s->low_ramp, s->low.y);
  detail_lift_control(&s->lift);
}

void
proximity_lift_process(proximity_lift*     s,
                       const float* const* in,
                       float* const*       out,
                       uint32_t            n)
{
  float gain[CONTROL_FRAMES];
  detail_lift_gains(&s->lift, in, gain, n);

  float low[CONTROL_FRAMES];
  float direct[CONTROL_FRAMES];
  ramp_values(&s->low_ramp, low, n);
  ramp_values(&s->direct_ramp, direct, n);

  for (uint32_t k = 0; k < s->n_channels; ++k) {
    mic_near_field_pole pole = s->pole[k];
    for (uint32_t i = 0; i < n; ++i) {
      const float bass =
        (float)mic_near_field_pole_next(&pole, (double)in[k][i]);
      out[k][i] = gain[i] * (direct[i] * in[k][i] + low[i] * bass);
    }
    s->pole[k] = pole;
    infra_cut_run(&s->low_end, &s->below[k], out[k], out[k], n);
  }
}

uint32_t
proximity_lift_latency_frames(const proximity_lift* s)
{
  (void)s;
  return 0;
}

void
proximity_lift_meter(const proximity_lift* s, proximity_lift_meters* m)
{
  m->lift_now_db = (float)detail_lift_now_db(&s->lift);
}

STAGE_DEFINE_METERED(proximity_lift)
