// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "bus_leveler.h"

#include "common/core/fastmath.h"

PARAMS_DEFINE(bus_leveler, BUS_LEVELER_PARAMS)
METERS_DEFINE(bus_leveler, BUS_LEVELER_METERS)

#define DETECTOR_S 0.005

/// Peak of a sine over its RMS, in dB
#define SINE_CREST_DB 3.0102999566F

/// Least power that the detector sees: -120 dBFS
#define POWER_FLOOR 1e-12F

static double
exponent_of(const bus_leveler_params* p)
{
  return (double)p->ratio - 1.0;
}

static double
makeup_db_of(const bus_leveler_params* p)
{
  const double aligned_db =
    ALIGN_RMS_DBFS + (double)SINE_CREST_DB - (double)p->threshold_db;
  return p->makeup > 0.0F ? (double)p->makeup_db
                          : photocell_law_db(aligned_db, exponent_of(p));
}

GLIDES_DEFINE(bus_leveler, BUS_LEVELER_GLIDES)

bool
bus_leveler_init(bus_leveler* s, double rate_hz, uint32_t n_channels)
{
  s->rate_hz    = rate_hz;
  s->n_channels = n_channels;
  bus_leveler_glides_init(s, rate_hz);
  s->detector_share = one_pole_share(DETECTOR_S, rate_hz);
  photocell_init(&s->cell, rate_hz, photocell_default_rates);
  return true;
}

void
bus_leveler_set(bus_leveler* s, const bus_leveler_params* p)
{
  bus_leveler_glides_set(s, p);
  photocell_set(&s->cell, 0.01 * (double)p->speed_pc, p->memory > 0.0F);
}

static biquad
detector_filter(const bus_leveler* s)
{
  return eq_high_pass(steady_exp2(s->low_cut.y), eq_butterworth_q(2, 0),
                      s->rate_hz);
}

void
bus_leveler_reset(bus_leveler* s)
{
  bus_leveler_glides_snap(s);
  ramp_snap(&s->threshold_ramp, s->threshold.y);
  ramp_snap(&s->exponent_ramp, s->exponent.y);
  ramp_snap(&s->makeup_ramp, db_to_gain(s->makeup.y));
  ramp_snap(&s->blend_ramp, s->blend.y);
  svf_reset(&s->detector);
  svf_snap(&s->detector, detector_filter(s));
  s->power = 0.0;
  photocell_reset(&s->cell);
}

void
bus_leveler_control(bus_leveler* s)
{
  const bool low_cut = s->low_cut.moving || s->detector.moving;
  (void)bus_leveler_glides_next(s);
  (void)ramp_push(&s->threshold_ramp, s->threshold.y);
  (void)ramp_push(&s->exponent_ramp, s->exponent.y);
  (void)ramp_push(&s->makeup_ramp, db_to_gain(s->makeup.y));
  (void)ramp_push(&s->blend_ramp, s->blend.y);
  if (low_cut) {
    svf_push(&s->detector, detector_filter(s));
  }
  photocell_control(&s->cell);
}

/// Writes the level of the mean power of all channels, in dB re threshold
static void
detect(bus_leveler* s, const float* const* in, float* level_db, uint32_t n)
{
  f64x2 x[CONTROL_FRAMES];
  svf_load(in, x, s->n_channels, n);
  svf_run(&s->detector, 1, x, s->n_channels, n);

  float        power[CONTROL_FRAMES];
  const double share = s->detector_share;
  double       mean  = s->power;
  for (uint32_t i = 0; i < n; ++i) {
    const f64x2  square = x[i] * x[i];
    const double sum =
      s->n_channels == 2 ? 0.5 * (square[0] + square[1]) : square[0];
    mean += share * (sum - mean);
    power[i] = (float)mean;
  }
  s->power = mean;

  float threshold[CONTROL_FRAMES];
  ramp_values(&s->threshold_ramp, threshold, n);
  for (uint32_t i = 0; i < n; ++i) {
    level_db[i] = 0.5F * DB_PER_OCTAVE * fast_log2(power[i] + POWER_FLOOR) +
                  SINE_CREST_DB - threshold[i];
  }
}

void
bus_leveler_process(bus_leveler*        s,
                    const float* const* in,
                    float* const*       out,
                    uint32_t            n)
{
  float level_db[CONTROL_FRAMES];
  float exponent[CONTROL_FRAMES];
  float n_t[CONTROL_FRAMES];
  float gain[CONTROL_FRAMES];
  detect(s, in, level_db, n);
  ramp_values(&s->exponent_ramp, exponent, n);
  photocell_law(level_db, exponent, n_t, n);
  photocell_run(&s->cell, n_t, gain, n);

  float makeup[CONTROL_FRAMES];
  float blend[CONTROL_FRAMES];
  ramp_values(&s->makeup_ramp, makeup, n);
  ramp_values(&s->blend_ramp, blend, n);
  for (uint32_t i = 0; i < n; ++i) {
    gain[i] = 1.0F + blend[i] * (gain[i] * makeup[i] - 1.0F);
  }
  for (uint32_t k = 0; k < s->n_channels; ++k) {
    for (uint32_t i = 0; i < n; ++i) {
      out[k][i] = gain[i] * in[k][i];
    }
  }
}

uint32_t
bus_leveler_latency_frames(const bus_leveler* s)
{
  (void)s;
  return 0;
}

void
bus_leveler_meter(const bus_leveler* s, bus_leveler_meters* m)
{
  m->reduction_db = (float)gain_to_db(1.0 + s->cell.n);
}

STAGE_DEFINE_METERED(bus_leveler)
