// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "di_cleanup.h"

#include <string.h>

PARAMS_DEFINE(di_cleanup, DI_CLEANUP_PARAMS)
METERS_DEFINE(di_cleanup, DI_CLEANUP_METERS)

static double
share_of_slope(const di_cleanup_params* p, long slope)
{
  return lrintf(p->low_cut_slope) == slope ? 1.0 : 0.0;
}

GLIDES_DEFINE(di_cleanup, DI_CLEANUP_GLIDES)

static const double mains_hz[DI_CLEANUP_MAINS] = {50.0, 60.0};

/// Returns section `i` of the low cut at slope 0 to 2.  The second section is
/// flat, of first or of second order; each keeps a pole pair at or near the
/// corner, so that shares of them mix into a stable filter.
static svf_coefs
low_cut_section(const di_cleanup* s, uint32_t slope, uint32_t i)
{
  const double   hz    = steady_exp2(s->low_cut_hz.y);
  const uint32_t order = slope + 2;
  if (i == 0 || order == 4) {
    return svf_of_biquad(
      eq_high_pass(hz, eq_butterworth_q(order, i), s->rate_hz));
  }
  if (order == 3) {
    return svf_of_biquad(eq_high_pass_1(hz, s->rate_hz));
  }
  return svf_scale(
    svf_of_biquad(eq_high_pass(hz, eq_butterworth_q(4, 1), s->rate_hz)), 0.0);
}

/// Mixes the coefficients of all slopes by their shares while the slope changes
static svf_coefs
low_cut_coefs(const di_cleanup* s, uint32_t i)
{
  const double shares[DI_CLEANUP_SLOPES] = {s->slope_12.y, s->slope_18.y,
                                            s->slope_24.y};
  svf_coefs    c                         = {0};
  double       done                      = 0.0;
  for (uint32_t slope = 0; slope < DI_CLEANUP_SLOPES; ++slope) {
    const double share = shares[slope];
    if (share > 0.0) {
      done += share;
      c = svf_mix(c, low_cut_section(s, slope, i), share / done);
    }
  }
  return c;
}

static biquad
body_design(const di_cleanup* s)
{
  return eq_bell(steady_exp2(s->body_hz.y), s->body_db.y,
                 eq_q_of_oct(steady_exp2(s->body_oct.y)), s->rate_hz);
}

static biquad
presence_design(const di_cleanup* s)
{
  return eq_bell(steady_exp2(s->presence_hz.y), s->presence_db.y,
                 eq_q_of_oct(steady_exp2(s->presence_oct.y)), s->rate_hz);
}

bool
di_cleanup_init(di_cleanup* s, double rate_hz, uint32_t n_channels)
{
  memset(s, 0, sizeof(*s));
  s->rate_hz     = rate_hz;
  s->n_channels  = n_channels;
  s->glide_share = glide_share(rate_hz);
  di_cleanup_glides_init(s, rate_hz);
  s->step_frames = (uint32_t)lrint(GATED_LEVEL_HOP_S * rate_hz);
  for (uint32_t i = 0; i < DI_CLEANUP_MAINS; ++i) {
    s->hum_design[i] = hum_design_for(mains_hz[i], rate_hz);
  }
  pause_expander_init(&s->pause, rate_hz, n_channels);
  return true;
}

void
di_cleanup_set(di_cleanup* s, const di_cleanup_params* p)
{
  di_cleanup_glides_set(s, p);
  s->mains_wanted = (uint32_t)lrintf(p->hum);
  pause_expander_set(&s->pause, (double)p->pause_db, (double)p->pause_below_db);
}

static void
use_mains(di_cleanup* s, uint32_t mains)
{
  s->mains = mains;
  memset(s->hum_memory, 0, sizeof(s->hum_memory));
  glide_set(&s->hum_share, mains ? 1.0 : 0.0);
}

void
di_cleanup_reset(di_cleanup* s)
{
  di_cleanup_glides_snap(s);
  svf_snap_coefs(&s->filter[0], low_cut_coefs(s, 0));
  svf_snap_coefs(&s->filter[1], low_cut_coefs(s, 1));
  svf_snap(&s->filter[2], body_design(s));
  svf_snap(&s->filter[3], presence_design(s));
  for (uint32_t i = 0; i < 4; ++i) {
    svf_reset(&s->filter[i]);
  }
  ramp_snap(&s->gain, db_to_gain(s->gain_db.y));
  s->gain_moves = false;
  s->designed   = false;

  use_mains(s, s->mains_wanted);
  glide_snap(&s->hum_share);
  ramp_snap(&s->hum_ramp, s->hum_share.y);
  pause_expander_reset(&s->pause);

  s->power        = (f64x2){0.0, 0.0};
  s->power_frames = 0;
}

/// What moves on this line
typedef struct {
  bool gain, low_cut, body, presence;
} moves;

static moves
glide_on(di_cleanup* s)
{
  const moves m = {
    .gain    = s->gain_db.moving,
    .low_cut = s->low_cut_hz.moving || s->slope_12.moving ||
               s->slope_18.moving || s->slope_24.moving ||
               s->filter[0].moving || s->filter[1].moving,
    .body = s->body_hz.moving || s->body_db.moving || s->body_oct.moving ||
            s->filter[2].moving,
    .presence = s->presence_hz.moving || s->presence_db.moving ||
                s->presence_oct.moving || s->filter[3].moving,
  };
  (void)di_cleanup_glides_next(s);
  return m;
}

/// Designs the filters that move, on every other line
static void
move_filters(di_cleanup* s, moves m)
{
  const bool any = m.low_cut || m.body || m.presence;
  s->designed    = !s->designed && any;
  if (!s->designed) {
    return;
  }
  if (m.low_cut) {
    svf_push_coefs_slow(&s->filter[0], low_cut_coefs(s, 0));
    svf_push_coefs_slow(&s->filter[1], low_cut_coefs(s, 1));
  }
  if (m.body) {
    svf_push_slow(&s->filter[2], body_design(s));
  }
  if (m.presence) {
    svf_push_slow(&s->filter[3], presence_design(s));
  }
}

/// Changes from one mains frequency to the other by way of none
static void
move_hum(di_cleanup* s)
{
  if (s->mains != s->mains_wanted) {
    glide_set(&s->hum_share, 0.0);
    if (!s->hum_share.moving && s->hum_share.y == 0.0) {
      use_mains(s, s->mains_wanted);
    }
  } else if (s->mains) {
    glide_set(&s->hum_share, 1.0);
  }
  glide_next(&s->hum_share, s->glide_share);
  ramp_push(&s->hum_ramp, s->hum_share.y);
}

static void
close_level_step(di_cleanup* s)
{
  const double sum = s->power[0] + s->power[1];
  (void)gated_level_push(&s->level, sum / (s->n_channels * s->power_frames));
  s->power        = (f64x2){0.0, 0.0};
  s->power_frames = 0;
}

void
di_cleanup_control(di_cleanup* s)
{
  const moves m = glide_on(s);
  move_filters(s, m);
  move_hum(s);
  pause_expander_control(&s->pause);
  if (m.gain || s->gain_moves) {
    s->gain_moves = ramp_push(&s->gain, db_to_gain(s->gain_db.y));
  }
  if (s->power_frames >= s->step_frames) {
    close_level_step(s);
  }
}

/// Removes the same share of the hum from every channel
static void
take_hum_out(di_cleanup* s, f64x2* x, uint32_t n)
{
  float share[CONTROL_FRAMES];
  for (uint32_t i = 0; i < n; ++i) {
    share[i] = ramp_next(&s->hum_ramp);
  }
  for (uint32_t k = 0; k < s->n_channels; ++k) {
    double minus_hum[CONTROL_FRAMES];
    hum_run(&s->hum_design[s->mains - 1], &s->hum_memory[k], x, k, minus_hum,
            n);
    for (uint32_t i = 0; i < n; ++i) {
      x[i][k] += (double)share[i] * minus_hum[i];
    }
  }
}

static void
apply_gain(di_cleanup* s, f64x2* x, uint32_t n)
{
  if (s->gain_moves) {
    for (uint32_t i = 0; i < n; ++i) {
      x[i] *= (double)ramp_next(&s->gain);
    }
  } else {
    const double gain = (double)s->gain.v;
    for (uint32_t i = 0; i < n; ++i) {
      x[i] *= gain;
    }
  }
}

void
di_cleanup_process(di_cleanup*         s,
                   const float* const* in,
                   float* const*       out,
                   uint32_t            n)
{
  f64x2 x[CONTROL_FRAMES];
  svf_load(in, x, s->n_channels, n);
  svf_run(s->filter, 4, x, s->n_channels, n);
  if (s->mains) {
    take_hum_out(s, x, n);
  }

  f64x2 power = s->power;
  for (uint32_t i = 0; i < n; ++i) {
    power += x[i] * x[i];
  }
  s->power = power;
  s->power_frames += n;

  apply_gain(s, x, n);
  if (s->pause.is_on) {
    pause_expander_run(&s->pause, x, n);
  }
  svf_store(x, out, s->n_channels, n);
}

uint32_t
di_cleanup_latency_frames(const di_cleanup* s)
{
  (void)s;
  return 0;
}

void
di_cleanup_meter(const di_cleanup* s, di_cleanup_meters* m)
{
  const double level_db = gated_level_db(&s->level);
  const double align_db =
    clampd(ALIGN_RMS_DBFS - level_db, -DI_CLEANUP_ALIGN_LIMIT_DB,
           DI_CLEANUP_ALIGN_LIMIT_DB);
  const double heard =
    fmin(gated_level_passed_s(&s->level) / DI_CLEANUP_PLAYING_S, 1.0);
  m->align_db       = level_db > GATED_LEVEL_FLOOR_DB ? (float)align_db : 0.0F;
  m->align_ready_pc = (float)(100.0 * heard);
}

/// The alignment outlasts a rest
static void
forget(void* state) NONBLOCKING
{
  di_cleanup* const s = state;
  gated_level_reset(&s->level, DI_CLEANUP_GATE_DBFS);
}

STAGE_DEFINE_METERED_WITH(di_cleanup, .forget = forget)
