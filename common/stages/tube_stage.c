// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "tube_stage.h"

#include "common/core/crossfade.h"
#include "common/tube/tube_loudness.h"

#include <string.h>

PARAMS_DEFINE(tube_stage, TUBE_STAGE_PARAMS)

// Corner of the treble path across the volume in front of the first grid (our
// choice; 120 pF on 1 Mohm at a middle setting would be near)
#define BRIGHT_HZ 1600.0

// A new circuit, or one that stood still at a blend of 0, runs unheard until
// its capacitors have settled, then fades in
#define WARM_S 0.02
#define FADE_S 0.02

// Lift of the cathodes at the ends of the bias control: the operating point is
// at vgk -2.6 V, 0.24 mA (cold), -0.5 V, 1.3 mA (hot)
#define COLD_V 2.2
#define HOT_V  (-1.5)

#define BIAS_TAU_S 0.05

// High enough for the coldest bias, with hardly any delay of the treble
#define COUPLING_EDGE_HZ 58.0

GLIDES_DEFINE(tube_stage, TUBE_STAGE_GLIDES)

// Fall of the supply under full load at the end of the sag control
#define SAG_V 75.0

static double
bias_v(const tube_stage* s)
{
  const double share = 0.01 * s->bias_pc.y;
  return share < 0.0 ? -share * COLD_V : share * HOT_V;
}

static uint32_t
factor_now(const tube_stage* s)
{
  return oversample_factor(s->quality, s->rate_hz);
}

_Static_assert(DELAY_HOLDS(TUBE_STAGE_DRY_FRAMES, TUBE_STAGE_LATENCY),
               "Dry lines");
_Static_assert(TUBE_STAGE_DRY_FRAMES <= BALANCE_FRAMES,
               "Latency fits the balance");

/// Returns whether no quality is slower than the stage
static bool
none_is_late(double rate_hz)
{
  for (uint32_t quality = 0; quality < 3; ++quality) {
    const uint32_t factor  = oversample_factor(quality, rate_hz);
    const uint32_t latency = tube_voice_latency_frames(factor, rate_hz);
    if (latency > TUBE_STAGE_LATENCY) {
      return false;
    }
  }
  return true;
}

bool
tube_stage_init(tube_stage* s, double rate_hz, uint32_t n_channels)
{
  tube_voice_prepare();
  s->rate_hz    = rate_hz;
  s->n_channels = n_channels;
  tube_stage_glides_init(s, rate_hz);
  s->warm_lines = (uint32_t)ceil(WARM_S * rate_hz / CONTROL_FRAMES);
  s->fade_lines = (uint32_t)ceil(FADE_S * rate_hz / CONTROL_FRAMES);

  // Trapezoidal one-pole low-pass; the treble is the rest
  const double h = steady_tan(DSP_PI * BRIGHT_HZ / rate_hz);
  s->bright_pole = (1.0 - h) / (1.0 + h);
  s->bright_in   = h / (1.0 + h);
  for (uint32_t k = 0; k < n_channels; ++k) {
    delay_init(&s->line[k], s->dry_memory[k], TUBE_STAGE_DRY_FRAMES);
    for (uint32_t i = 0; i < 2; ++i) {
      delay_init(&s->late[i][k], s->late_memory[i][k], TUBE_STAGE_DRY_FRAMES);
    }
  }
  balance_init(&s->even, rate_hz, n_channels);
  infra_cut_init(&s->coupling, COUPLING_EDGE_HZ, rate_hz);
  return none_is_late(rate_hz);
}

void
tube_stage_set(tube_stage* s, const tube_stage_params* p)
{
  tube_stage_glides_set(s, p);
  s->n_stages = 1 + (uint32_t)p->stages;
  s->quality  = (uint32_t)p->quality;
}

uint32_t
tube_stage_latency_frames(const tube_stage* s)
{
  (void)s;
  return TUBE_STAGE_LATENCY;
}

/// Computes the gains for the present settings and a voice's number of stages
static void
blend_now(const tube_stage* s, const tube_voice* v, double* dry, double* wet)
{
  const tube_loudness_setting setting = {
    .n_stages  = v->n_stages,
    .drive_db  = s->drive_db.y,
    .bias_pc   = s->bias_pc.y,
    .sag_pc    = s->sag_pc.y,
    .bright_db = s->bright_db.y,
  };
  tube_loudness_blend(&setting, 0.01 * s->blend_pc.y, dry, wet);
}

static void
snap_mix(tube_stage* s, uint32_t i)
{
  double dry = 0.0;
  double wet = 0.0;
  blend_now(s, &s->voice[i], &dry, &wet);
  ramp_snap(&s->dry[i], dry);
  ramp_snap(&s->wet[i], wet);
}

static void
start_voice(tube_stage* s, uint32_t i)
{
  const uint32_t factor = factor_now(s);
  tube_voice_init(&s->voice[i], s->rate_hz, s->n_channels, s->n_stages, factor,
                  bias_v(s));
  s->wait[i] =
    TUBE_STAGE_LATENCY - tube_voice_latency_frames(factor, s->rate_hz);
  for (uint32_t k = 0; k < s->n_channels; ++k) {
    delay_reset(&s->late[i][k]);
  }
  snap_mix(s, i);
}

void
tube_stage_reset(tube_stage* s)
{
  tube_stage_glides_snap(s);
  ramp_snap(&s->drive, TUBE_STAGE_FULL_SCALE_V * db_to_gain(s->drive_db.y));
  ramp_snap(&s->bright, db_to_gain(s->bright_db.y) - 1.0);
  ramp_snap(&s->fade, 1.0);
  s->unsettled_lines = 0;

  for (uint32_t k = 0; k < s->n_channels; ++k) {
    s->treble_low[k] = s->treble_in[k] = 0.0;
    delay_reset(&s->line[k]);
  }
  ramp_snap(&s->cut_ramp, s->cut.y);
  memset(s->below, 0, sizeof(s->below));
  balance_reset(&s->even);
  s->playing      = 0;
  s->change_lines = 0;
  s->is_dry       = false;
  s->hold_lines   = 0;
  start_voice(s, 0);
}

/// Moves the glides and the ramps that follow them
static void
push_ramps(tube_stage* s)
{
  const glide blend = s->blend_pc;
  if (tube_stage_glides_next(s)) {
    s->unsettled_lines = 3;
  }
  if (s->hold_lines) {
    s->blend_pc = blend;
  }
  if (s->unsettled_lines == 0) {
    return;
  }
  --s->unsettled_lines;
  (void)ramp_push(&s->cut_ramp, s->cut.y);
  (void)ramp_push(&s->drive,
                  TUBE_STAGE_FULL_SCALE_V * db_to_gain(s->drive_db.y));
  (void)ramp_push(&s->bright, db_to_gain(s->bright_db.y) - 1.0);
  for (uint32_t i = 0; i < 2; ++i) {
    if (i == s->playing || s->change_lines) {
      double dry = 0.0;
      double wet = 0.0;
      blend_now(s, &s->voice[i], &dry, &wet);
      (void)ramp_push(&s->dry[i], dry);
      (void)ramp_push(&s->wet[i], wet);
    }
  }
}

static bool
voice_changes(const tube_stage* s)
{
  const tube_voice* const now = &s->voice[s->playing];
  return s->change_lines || now->n_stages != s->n_stages ||
         now->factor != factor_now(s);
}

/// Starts, continues or ends the change from one voice to the other
static void
change_voice(tube_stage* s)
{
  if (s->change_lines == 0 && voice_changes(s)) {
    s->playing      = 1 - s->playing;
    s->change_lines = s->warm_lines + s->fade_lines + 3;
    start_voice(s, s->playing);
    ramp_snap(&s->fade, 0.0);
  }
  if (s->change_lines == 0) {
    return;
  }
  --s->change_lines;
  // In the last lines, after the fade, the ramp gets flat
  const double left = (double)s->change_lines - 2.0;
  const double gone = clampd(1.0 - left / s->fade_lines, 0.0, 1.0);
  (void)ramp_push(&s->fade, 0.5 - 0.5 * steady_cos(DSP_PI * gone));
}

/// Stops the circuit at a blend of 0, and starts it again
static void
dry_or_not(tube_stage* s)
{
  const bool was_dry = s->is_dry;
  s->is_dry = !s->blend_pc.moving && ramp_rests_at(&s->cut_ramp, 0.0F) &&
              ramp_rests_at(&s->wet[s->playing], 0.0F) &&
              ramp_rests_at(&s->dry[s->playing], 1.0F) && !voice_changes(s);
  if (was_dry && !s->is_dry) {
    s->hold_lines = s->warm_lines;
  } else if (s->hold_lines) {
    --s->hold_lines;
  }
}

void
tube_stage_control(tube_stage* s)
{
  dry_or_not(s);
  push_ramps(s);
  if (s->is_dry) {
    return;
  }
  balance_control(&s->even);
  change_voice(s);
  for (uint32_t i = 0; i < 2; ++i) {
    if (i == s->playing || s->change_lines) {
      tube_voice_control(&s->voice[i], bias_v(s), 0.01 * s->sag_pc.y * SAG_V);
    }
  }
}

/// Makes the signal of the first grid
static void
drive_channel(tube_stage*  s,
              uint32_t     k,
              const float* drive,
              const float* bright,
              const float* in,
              float*       out,
              uint32_t     n)
{
  double low    = s->treble_low[k];
  double before = s->treble_in[k];
  for (uint32_t i = 0; i < n; ++i) {
    const double now = (double)in[i];
    low              = s->bright_pole * low + s->bright_in * (now + before);
    before           = now;
    out[i]           = drive[i] * (in[i] + bright[i] * (float)(now - low));
  }
  s->treble_low[k] = low;
  s->treble_in[k]  = before;
}

typedef float buffers[MAX_CHANNELS][CONTROL_FRAMES];

/// Mixes dry and the output of voice `i`
static void
mix_voice(tube_stage* s, uint32_t i, buffers hot, buffers out, uint32_t n)
{
  const uint32_t n_channels      = s->n_channels;
  float* const   x[MAX_CHANNELS] = {out[0], out[1]};
  for (uint32_t k = 0; k < n_channels; ++k) {
    memcpy(out[k], hot[k], n * sizeof(float));
  }
  tube_voice* const v = &s->voice[i];
  tube_voice_process(v, (const float* const*)x, x, n);
  for (uint32_t k = 0; k < n_channels && s->wait[i]; ++k) {
    delay_process(&s->late[i][k], s->wait[i], out[k], out[k], n);
  }
  balance_give(&s->even, x, TUBE_STAGE_LATENCY, n);
  float dry[CONTROL_FRAMES], wet[CONTROL_FRAMES];
  ramp_values(&s->dry[i], dry, n);
  ramp_values(&s->wet[i], wet, n);
  for (uint32_t k = 0; k < n_channels; ++k) {
    const delay* const line = &s->line[k];
    float              late[CONTROL_FRAMES];
    delay_read(line, line->pos - n - TUBE_STAGE_LATENCY, late, n);
    for (uint32_t f = 0; f < n; ++f) {
      out[k][f] = dry[f] * late[f] + wet[f] * out[k][f];
    }
  }
}

/// Takes away what no coupling passes, from dry and wet alike
static void
cut_below(tube_stage* s, float* const* x, uint32_t n)
{
  if (ramp_rests_at(&s->cut_ramp, 1.0F)) {
    for (uint32_t k = 0; k < s->n_channels; ++k) {
      infra_cut_run(&s->coupling, &s->below[k], x[k], x[k], n);
    }
    return;
  }
  float share[CONTROL_FRAMES];
  ramp_values(&s->cut_ramp, share, n);
  for (uint32_t k = 0; k < s->n_channels; ++k) {
    infra_cut_run_by(&s->coupling, &s->below[k], share, x[k], n);
  }
}

/// Passes the delayed dry signal, exactly
static void
pass_dry(tube_stage* s, const float* const* in, float* const* out, uint32_t n)
{
  for (uint32_t k = 0; k < s->n_channels; ++k) {
    delay_process(&s->line[k], TUBE_STAGE_LATENCY, in[k], out[k], n);
  }
  cut_below(s, out, n);
}

void
tube_stage_process(tube_stage*         s,
                   const float* const* in,
                   float* const*       out,
                   uint32_t            n)
{
  if (s->is_dry) {
    pass_dry(s, in, out, n);
    return;
  }
  float drive[CONTROL_FRAMES], bright[CONTROL_FRAMES], fade[CONTROL_FRAMES];
  ramp_values(&s->drive, drive, n);
  ramp_values(&s->bright, bright, n);
  ramp_values(&s->fade, fade, n);

  const uint32_t n_channels = s->n_channels;
  buffers        hot, now, old;
  for (uint32_t k = 0; k < n_channels; ++k) {
    drive_channel(s, k, drive, bright, in[k], hot[k], n);
    delay_push(&s->line[k], in[k], n);
  }
  float* const hot_at[MAX_CHANNELS] = {hot[0], hot[1]};
  balance_listen(&s->even, (const float* const*)hot_at, n);
  balance_take(&s->even, hot_at, n);
  mix_voice(s, s->playing, hot, now, n);
  if (s->change_lines) {
    mix_voice(s, 1 - s->playing, hot, old, n);
    for (uint32_t k = 0; k < n_channels; ++k) {
      crossfade_mix_onto(fade, old[k], now[k], n);
    }
  }
  for (uint32_t k = 0; k < n_channels; ++k) {
    memcpy(out[k], now[k], n * sizeof(float));
  }
  cut_below(s, out, n);
}

STAGE_DEFINE(tube_stage)
