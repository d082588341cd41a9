// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "tube_voice.h"

#include <pthread.h>
#include <stdbool.h>
#include <string.h>

// The supply recovers, and sags, with this time constant (our choice); full
// level is a mean of 50 V at the output
#define SUPPLY_TAU_S  0.08
#define LOAD_TAU_S    0.01 // Of the rectified output, before the control grid
#define SUPPLY_FULL_V 50.0
#define SUPPLY_MIN_V  160.0

// Range of b in the table: at SUPPLY_MIN_V, coldest; at 250 V, hottest
#define TABLE_B_MIN_V 137.5
#define TABLE_B_MAX_V 275.0

#define MILLER_F 105e-12 // Cgk 1.6, Cga 1.7 (1 + 54), wiring 10 pF

// Small-signal gain from grid to grid: stage 57.3, divider 0.102
#define LATER_GAIN 5.8

#define DIVIDER_OHM      560e3
#define DIVIDER_LEAK_OHM 68e3

const tube_parts tube_voice_first_parts = {
  .plate_ohm   = 100e3,
  .cathode_ohm = 1500,
  .cathode_f   = 1e-6,
  .source_ohm  = 68e3,
  .leak_ohm    = 1e6,
  .load_ohm    = DIVIDER_OHM + DIVIDER_LEAK_OHM,
  .load_f      = 6.8e-9,
  .input_f     = MILLER_F,
};

const tube_parts tube_voice_later_parts = {
  .plate_ohm   = 100e3,
  .cathode_ohm = 1500,
  .cathode_f   = 22e-6,
  .source_ohm  = TUBE_PLATE_SOURCE_OHM + DIVIDER_OHM,
  .coupling_f  = 6.8e-9,
  .leak_ohm    = DIVIDER_LEAK_OHM,
  .stopper_ohm = 2.2e3, // Makes both grids the same for the table
  .load_ohm    = DIVIDER_OHM + DIVIDER_LEAK_OHM,
  .load_f      = 6.8e-9,
  .input_f     = MILLER_F,
};

static tube_table     shared_table;
static pthread_once_t shared_once = PTHREAD_ONCE_INIT;

static void
build_shared_table(void)
{
  tube_table_build(&shared_table, &triode_12ax7,
                   tube_parts_grid_ohm(&tube_voice_first_parts),
                   tube_parts_plate_ohm(&tube_voice_first_parts), TABLE_B_MIN_V,
                   TABLE_B_MAX_V);
}

void
tube_voice_prepare(void)
{
  pthread_once(&shared_once, build_shared_table);
}

/// Delay of `n_stages` stages and the filter after them in inner samples, with
/// that of the input capacitances at low frequencies
static double
inner_delay(uint32_t n_stages, double inner_hz)
{
  const double miller_s =
    tube_parts_input_s(&tube_voice_first_parts) +
    (n_stages - 1.0) * tube_parts_input_s(&tube_voice_later_parts);
  return tube_repair_delay(n_stages) + miller_s * inner_hz;
}

/// Delay of the most stages, to which fewer are padded
static uint32_t
full_delay(double inner_hz)
{
  return (uint32_t)lrint(inner_delay(TUBE_STAGES_MAX, inner_hz));
}

uint32_t
tube_voice_latency_frames(uint32_t factor, double rate_hz)
{
  return oversample_latency_frames_delayed(factor,
                                           full_delay(rate_hz * factor));
}

static void
init_channel(tube_voice* v, tube_voice_channel* c)
{
  const double inner_hz = v->rate_hz * v->factor;
  oversample_init_delayed(&c->over, v->factor, full_delay(inner_hz));
  for (uint32_t i = 0; i < v->n_stages; ++i) {
    tube_gain_init(&c->gain[i], &shared_table,
                   i ? &tube_voice_later_parts : &tube_voice_first_parts,
                   i + 1 < v->n_stages ? TUBE_OUT_SOURCE : TUBE_OUT_LOAD,
                   TUBE_PLATE_SOURCE_OHM, inner_hz, v->group);
    tube_gain_reset(&c->gain[i], &v->rest);
  }
  memset(&c->repair, 0, sizeof(c->repair));
}

static void
ramp_rest(tube_voice* v, tube_rest to)
{
  const double share = 1.0 / (CONTROL_FRAMES * v->factor);
  v->ramp.at         = v->rest;
  v->ramp.samples    = 0;
  v->ramp.step       = (tube_rest){
          .ia = share * (to.ia - v->rest.ia),
          .ig = share * (to.ig - v->rest.ig),
          .a  = share * (to.a - v->rest.a),
          .b  = share * (to.b - v->rest.b),
  };
  v->rest = to;
}

void
tube_voice_init(tube_voice* v,
                double      rate_hz,
                uint32_t    n_channels,
                uint32_t    n_stages,
                uint32_t    factor,
                double      bias_v)
{
  v->rate_hz      = rate_hz;
  v->n_channels   = n_channels;
  v->n_stages     = n_stages;
  v->factor       = factor;
  v->group        = factor < TUBE_GROUP_MAX ? factor : TUBE_GROUP_MAX;
  v->bias_v       = bias_v;
  v->pad          = steady_pow(1.0 / LATER_GAIN, n_stages - 1.0);
  v->supply_share = one_pole_share(SUPPLY_TAU_S, rate_hz / CONTROL_FRAMES);
  v->supply_v     = TUBE_SUPPLY_V;
  v->load         = one_pole_average(LOAD_TAU_S, rate_hz);
  memset(&v->load_v, 0, sizeof(v->load_v));

  v->rest =
    tube_rest_find(&shared_table, &tube_voice_first_parts, v->supply_v, bias_v);
  ramp_rest(v, v->rest);
  const double inner_hz = rate_hz * factor;
  const double fill = full_delay(inner_hz) - inner_delay(n_stages, inner_hz);
  v->repair = tube_repair_make(n_stages, (uint32_t)lrint(fmax(fill, 0.0)));
  for (uint32_t k = 0; k < n_channels; ++k) {
    init_channel(v, &v->channel[k]);
  }
}

void
tube_voice_control(tube_voice* v, double bias_v, double sag_v)
{
  const double before = v->supply_v;
  const double target =
    TUBE_SUPPLY_V - sag_v * ((double)v->load_v.z[3] / SUPPLY_FULL_V);
  v->supply_v += v->supply_share * (target - v->supply_v);
  v->supply_v = fmax(v->supply_v, SUPPLY_MIN_V);

  // The supply drifts, so one step per line will do; the bias is turned
  const bool     turned  = bias_v != v->bias_v;
  const uint32_t n_steps = turned ? 2 : v->supply_v != before;
  tube_rest      to      = v->rest;
  for (uint32_t i = 0; i < n_steps; ++i) {
    to = tube_rest_near(&shared_table, &tube_voice_first_parts, v->supply_v,
                        bias_v, to);
  }
  v->bias_v = bias_v;
  ramp_rest(v, to);
}

void
tube_voice_process(tube_voice*         v,
                   const float* const* in,
                   float* const*       out,
                   uint32_t            n)
{
  const uint32_t n_inner = n * v->factor;

  _Alignas(64) float  inner[OVERSAMPLE_MAX_SAMPLES];
  _Alignas(64) double inside[MAX_CHANNELS][OVERSAMPLE_MAX_SAMPLES];
  double*             x[MAX_CHANNELS];
  tube_gain*          gain[MAX_CHANNELS];
  for (uint32_t k = 0; k < v->n_channels; ++k) {
    oversample_up(&v->channel[k].over, in[k], inner, n);
    x[k]    = inside[k];
    gain[k] = v->channel[k].gain;
    for (uint32_t i = 0; i < n_inner; ++i) {
      x[k][i] = v->pad * (double)inner[i];
    }
  }
  tube_gain_process(gain, v->n_stages, &v->ramp, x, v->n_channels, n_inner);
  for (uint32_t k = 0; k < v->n_channels; ++k) {
    tube_voice_channel* const c = &v->channel[k];
    tube_repair_process(&v->repair, &c->repair, x[k], inner, n_inner);
    oversample_down(&c->over, inner, out[k], n);
  }

  // The supply feeds all channels
  const float share = 1.0F / (float)v->n_channels;
  float       load[CONTROL_FRAMES];
  for (uint32_t i = 0; i < n; ++i) {
    load[i] = share * fabsf(out[0][i]);
  }
  if (v->n_channels == 2) {
    for (uint32_t i = 0; i < n; ++i) {
      load[i] += share * fabsf(out[1][i]);
    }
  }
  one_pole_run(&v->load, &v->load_v, load, load, n);

  v->ramp.samples += n * v->factor;
}
