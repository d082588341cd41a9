// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "input_compressor.h"

#include "common/core/fastmath.h"
#include "common/dynamics/compressor_loudness.h"
#include "common/dynamics/gain_computer.h"

#include <string.h>

PARAMS_DEFINE(input_compressor, INPUT_COMPRESSOR_PARAMS)
METERS_DEFINE(input_compressor, INPUT_COMPRESSOR_METERS)

// Drive of the edge, and its share, from nothing to all.  At the default of
// 35 % the sustain of playing at the alignment level, a sine of about -15 dBFS
// peak, comes in at A = -18 dB: less than 0.8 % distortion.
#define EDGE_DRIVE_DB(edge) (14.0 * (edge)-8.0)
#define EDGE_SHARE(edge)    (1.0 - steady_pow(1.0 - (edge), 4.0))

// How much harder the edge is driven per dB that the reduction still lacks
#define EDGE_DRIVE_PER_DB 0.15F

#define LEVEL_GLIDE_TAU_S 0.020

// The gain without its ripple, by which the linear part of the sound is told
// from what a moving gain adds: two poles, long against the period of the
// lowest note
#define SLOW_TAU_S 0.040

static gain_cell_settings
cell_settings(const input_compressor_params* p)
{
  return (gain_cell_settings){
    .threshold_db = (double)p->threshold_db,
    .slope        = gain_computer_slope((double)p->ratio),
    .knee_db      = (double)p->knee_db,
    .is_programme = p->timing < 0.5F,
    .manual       = {1e-3 * (double)p->attack_ms, 1e-3 * (double)p->release_ms},
  };
}

/// Returns the gain that brings playing back to its loudness
static double
auto_makeup_db(const input_compressor_params* p)
{
  const gain_cell_settings g = cell_settings(p);
  const double             offset_db =
    g.is_programme ? 0.0
                               : compressor_loudness_peak_offset_db(g.manual.attack_s,
                                                                    g.manual.release_s);
  return -compressor_loudness_lu(g.threshold_db, g.slope, g.knee_db, offset_db);
}

GLIDES_DEFINE(input_compressor, INPUT_COMPRESSOR_GLIDES)

_Static_assert(DELAY_HOLDS(INPUT_COMPRESSOR_LINE, OVERSAMPLE_MAX_LATENCY),
               "Lines of the compressor");
_Static_assert(OVERSAMPLE_MAX_LATENCY <= BALANCE_MAX_LATENCY,
               "Latency fits the balance");

bool
input_compressor_init(input_compressor* s, double rate_hz, uint32_t n_channels)
{
  s->n_channels = n_channels;
  s->latency    = pick_edge_latency_frames(rate_hz);
  input_compressor_glides_init(s, rate_hz);
  gain_cell_init(&s->cell, rate_hz, n_channels);
  infra_cut_init(&s->products, INFRA_CUT_EDGE_HZ, rate_hz);
  s->slow_share = one_pole_share(SLOW_TAU_S, rate_hz / CONTROL_FRAMES);
  balance_init(&s->even, rate_hz, n_channels);
  delay_init(&s->gain_delay, s->gain_line, INPUT_COMPRESSOR_LINE);
  delay_init(&s->weight_delay, s->weight_line, INPUT_COMPRESSOR_LINE);
  for (uint32_t k = 0; k < MAX_CHANNELS; ++k) {
    input_compressor_channel* const c = &s->channel[k];
    pick_edge_init(&c->edge, rate_hz);
    delay_init(&c->input, c->line, INPUT_COMPRESSOR_LINE);
  }
  return s->latency + CONTROL_FRAMES <= INPUT_COMPRESSOR_LINE;
}

static bool
is_same(const input_compressor_params* a, const input_compressor_params* b)
{
  const float* const x = (const float*)a;
  const float* const y = (const float*)b;
  for (uint32_t i = 0; i < input_compressor_n_params; ++i) {
    if (x[i] != y[i]) {
      return false;
    }
  }
  return true;
}

void
input_compressor_set(input_compressor* s, const input_compressor_params* p)
{
  if (is_same(p, &s->set)) {
    return; // The make-up takes some exponentials
  }
  s->set = *p;

  const gain_cell_settings g = cell_settings(p);
  gain_cell_set(&s->cell, &g);
  input_compressor_glides_set(s, p);
}

/// Targets of the ramps, from the present values of the glides
typedef struct {
  double drive, dry, wet, bite;
} mix;

static mix
derive(const input_compressor* s)
{
  const double bite = s->edge.y;
  const double gain_db =
    s->makeup_db.y + s->is_auto.y * (s->level_db.y - s->makeup_db.y);
  const double wet = s->blend.y * db_to_gain(gain_db);
  return (mix){.drive = db_to_gain(EDGE_DRIVE_DB(bite) + s->level_db.y),
               .dry   = 1.0 - s->blend.y,
               .wet   = wet,
               .bite  = wet * EDGE_SHARE(bite)};
}

void
input_compressor_reset(input_compressor* s)
{
  gain_cell_reset(&s->cell);
  input_compressor_glides_snap(s);
  const mix m = derive(s);
  ramp_snap(&s->drive, m.drive);
  ramp_snap(&s->dry, m.dry);
  ramp_snap(&s->wet, m.wet);
  ramp_snap(&s->bite, m.bite);
  s->moving   = false;
  s->gain_now = s->gain_mean = s->gain_slow = 1.0;
  ramp_snap(&s->slow_ramp, 1.0);

  balance_reset(&s->even);
  delay_reset(&s->gain_delay);
  delay_reset(&s->weight_delay);
  for (uint32_t k = 0; k < MAX_CHANNELS; ++k) {
    pick_edge_reset(&s->channel[k].edge);
    memset(&s->channel[k].below, 0, sizeof(s->channel[k].below));
    delay_reset(&s->channel[k].input);
  }
}

void
input_compressor_control(input_compressor* s)
{
  gain_cell_control(&s->cell);
  s->gain_mean += s->slow_share * (s->gain_now - s->gain_mean);
  s->gain_slow += s->slow_share * (s->gain_mean - s->gain_slow);
  (void)ramp_push(&s->slow_ramp, s->gain_slow);
  balance_control(&s->even);

  s->moving = input_compressor_glides_next(s) || s->moving;
  if (s->moving) {
    const mix m = derive(s);
    s->moving   = ramp_push(&s->drive, m.drive);
    s->moving   = ramp_push(&s->dry, m.dry) || s->moving;
    s->moving   = ramp_push(&s->wet, m.wet) || s->moving;
    s->moving   = ramp_push(&s->bite, m.bite) || s->moving;
  }
}

/// Per frame: gain of the input into the edge, now; delayed like the edge's
/// filters, gains in the output: of the input on average, of the input by the
/// ripple of the gain, of the edge
typedef struct {
  float into[CONTROL_FRAMES];
  float direct[CONTROL_FRAMES];
  float ripple[CONTROL_FRAMES];
  float edge[CONTROL_FRAMES];
} gains;

/// Writes the gain of the cell, the gain into the edge, and the inverse of the
/// edge's drive
WIDE_CLONES static void
gains_of_cell(const float* restrict reduction_db,
              const float* restrict lack_db,
              const float* restrict drive,
              float* restrict cell,
              float* restrict into,
              float* restrict weight,
              uint32_t n)
{
  for (uint32_t i = 0; i < n; ++i) {
    const float hard = drive[i] * (1.0F + EDGE_DRIVE_PER_DB * lack_db[i]);
    cell[i]          = fast_exp2(-OCTAVES_PER_DB * reduction_db[i]);
    into[i]          = hard * cell[i];
    weight[i]        = 1.0F / hard;
  }
}

static void
find_gains(input_compressor* s, const float* const* in, gains* g, uint32_t n)
{
  float reduction[CONTROL_FRAMES];
  float lack[CONTROL_FRAMES];
  float drive[CONTROL_FRAMES];
  float cell[CONTROL_FRAMES] = {0};
  float weight[CONTROL_FRAMES];
  gain_cell_run(&s->cell, in, reduction, lack, n);
  ramp_values(&s->drive, drive, n);
  gains_of_cell(reduction, lack, drive, cell, g->into, weight, n);
  s->gain_now = (double)cell[n - 1];
  delay_process(&s->gain_delay, s->latency, cell, cell, n);
  delay_process(&s->weight_delay, s->latency, weight, weight, n);

  float dry[CONTROL_FRAMES];
  float wet[CONTROL_FRAMES];
  float bite[CONTROL_FRAMES];
  float slow[CONTROL_FRAMES];
  ramp_values(&s->dry, dry, n);
  ramp_values(&s->wet, wet, n);
  ramp_values(&s->bite, bite, n);
  ramp_values(&s->slow_ramp, slow, n);
  for (uint32_t i = 0; i < n; ++i) {
    g->direct[i] = dry[i] + wet[i] * slow[i];
    g->ripple[i] = wet[i] * (cell[i] - slow[i]);
    g->edge[i]   = bite[i] * weight[i];
  }
}

void
input_compressor_process(input_compressor*   s,
                         const float* const* in,
                         float* const*       out,
                         uint32_t            n)
{
  gains g;
  find_gains(s, in, &g, n);

  float        added[MAX_CHANNELS][CONTROL_FRAMES];
  float* const added_at[] = {added[0], added[1]};
  for (uint32_t k = 0; k < s->n_channels; ++k) {
    for (uint32_t i = 0; i < n; ++i) {
      added[k][i] = in[k][i] * g.into[i];
    }
  }
  balance_listen(&s->even, in, n);
  balance_take(&s->even, added_at, n);
  for (uint32_t k = 0; k < s->n_channels; ++k) {
    pick_edge_process(&s->channel[k].edge, added[k], added[k], n);
  }
  balance_give(&s->even, added_at, s->latency, n);

  for (uint32_t k = 0; k < s->n_channels; ++k) {
    float input[CONTROL_FRAMES];
    delay_process(&s->channel[k].input, s->latency, in[k], input, n);
    for (uint32_t i = 0; i < n; ++i) {
      added[k][i] = input[i] * g.ripple[i] + added[k][i] * g.edge[i];
    }
    infra_cut_run(&s->products, &s->channel[k].below, added[k], added[k], n);
    for (uint32_t i = 0; i < n; ++i) {
      out[k][i] = input[i] * g.direct[i] + added[k][i];
    }
  }
}

uint32_t
input_compressor_latency_frames(const input_compressor* s)
{
  return s->latency;
}

void
input_compressor_meter(const input_compressor* s, input_compressor_meters* m)
{
  m->reduction_db = (float)s->cell.reduction.y;
  m->in_peak_db   = (float)gain_cell_peak_db(&s->cell);
}

STAGE_DEFINE_METERED(input_compressor)
