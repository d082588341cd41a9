// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "di_cleanup.h"

#include <string.h>

PARAMS_DEFINE(di_cleanup, DI_CLEANUP_PARAMS)
METERS_DEFINE(di_cleanup, DI_CLEANUP_METERS)

static const double mains_hz[DI_CLEANUP_MAINS] = {50.0, 60.0};

/// Section `i` of the low cut at slope 0 to 2.  The second section is flat, of
/// first and of second order; all of them keep a pole pair at the corner or a
/// bend of it, so that shares of them mix into a stable filter.
static svf_coefs
low_cut_section(const di_cleanup* s, uint32_t slope, uint32_t i)
{
  const double   hz    = exp2(s->low_cut_hz.y);
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

/// While the slope changes, the share of each is in the coefficients
static svf_coefs
low_cut_coefs(const di_cleanup* s, uint32_t i)
{
  svf_coefs c    = {0};
  double    done = 0.0;
  for (uint32_t slope = 0; slope < DI_CLEANUP_SLOPES; ++slope) {
    const double share = s->slope[slope].y;
    if (share > 0.0) {
      done += share;
      c = svf_mix(c, low_cut_section(s, slope, i), share / done);
    }
  }
  return c;
}

static biquad
bell_design(const di_cleanup* s, const di_cleanup_bell* b)
{
  return eq_bell(exp2(b->hz.y), b->db.y, eq_q_of_oct(exp2(b->oct.y)),
                 s->rate_hz);
}

bool
di_cleanup_init(di_cleanup* s, double rate_hz, uint32_t n_channels)
{
  memset(s, 0, sizeof(*s));
  s->rate_hz     = rate_hz;
  s->n_channels  = n_channels;
  s->glide_share = glide_share(rate_hz);
  s->step_frames = (uint32_t)lrint(GATED_LEVEL_HOP_S * rate_hz);
  for (uint32_t i = 0; i < DI_CLEANUP_MAINS; ++i) {
    s->hum_design[i] = hum_design_for(mains_hz[i], rate_hz);
  }
  return true;
}

static void
set_bell(di_cleanup_bell* b, float hz, float db, float oct)
{
  glide_set(&b->hz, log2((double)hz));
  glide_set(&b->db, (double)db);
  glide_set(&b->oct, log2((double)oct));
}

void
di_cleanup_set(di_cleanup* s, const di_cleanup_params* p)
{
  glide_set(&s->gain_db, (double)p->gain_db);
  glide_set(&s->low_cut_hz, log2((double)p->low_cut_hz));
  for (uint32_t i = 0; i < DI_CLEANUP_SLOPES; ++i) {
    glide_set(&s->slope[i], lrintf(p->low_cut_slope) == (long)i ? 1.0 : 0.0);
  }
  set_bell(&s->bell[0], p->body_hz, p->body_db, p->body_oct);
  set_bell(&s->bell[1], p->presence_hz, p->presence_db, p->presence_oct);
  s->mains_wanted = (uint32_t)lrintf(p->hum);
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
  glide_snap(&s->gain_db);
  glide_snap(&s->low_cut_hz);
  for (uint32_t i = 0; i < DI_CLEANUP_SLOPES; ++i) {
    glide_snap(&s->slope[i]);
  }
  for (uint32_t i = 0; i < 2; ++i) {
    glide_snap(&s->bell[i].hz);
    glide_snap(&s->bell[i].db);
    glide_snap(&s->bell[i].oct);
    svf_snap_coefs(&s->filter[i], low_cut_coefs(s, i));
    svf_snap(&s->filter[2 + i], bell_design(s, &s->bell[i]));
  }
  for (uint32_t i = 0; i < 4; ++i) {
    svf_reset(&s->filter[i]);
  }
  ramp_snap(&s->gain, db_to_gain(s->gain_db.y));
  s->gain_moves = false;
  s->designed   = false;

  use_mains(s, s->mains_wanted);
  glide_snap(&s->hum_share);
  ramp_snap(&s->hum_ramp, s->hum_share.y);

  s->power        = (f64x2){0.0, 0.0};
  s->power_frames = 0;
  gated_level_reset(&s->level, DI_CLEANUP_GATE_DBFS);
}

/// True while it is on its way; `designs`: on this line, of two
static bool
move_low_cut(di_cleanup* s, bool designs)
{
  bool moves = s->low_cut_hz.moving;
  glide_next(&s->low_cut_hz, s->glide_share);
  for (uint32_t i = 0; i < DI_CLEANUP_SLOPES; ++i) {
    moves = s->slope[i].moving || moves;
    glide_next(&s->slope[i], s->glide_share);
  }

  bool any = moves;
  for (uint32_t i = 0; i < 2; ++i) {
    const bool filter_moves = moves || s->filter[i].moving;
    any                     = any || filter_moves;
    if (designs && filter_moves) {
      svf_push_coefs_slow(&s->filter[i], low_cut_coefs(s, i));
    }
  }
  return any;
}

static bool
move_bell(di_cleanup* s, di_cleanup_bell* b, svf* f, bool designs)
{
  const bool moves = b->hz.moving || b->db.moving || b->oct.moving || f->moving;
  glide_next(&b->hz, s->glide_share);
  glide_next(&b->db, s->glide_share);
  glide_next(&b->oct, s->glide_share);
  if (designs && moves) {
    svf_push_slow(f, bell_design(s, b));
  }
  return moves;
}

/// From one mains frequency to the other by way of none
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
  const bool designs  = !s->designed;
  const bool cut      = move_low_cut(s, designs);
  const bool body     = move_bell(s, &s->bell[0], &s->filter[2], designs);
  const bool presence = move_bell(s, &s->bell[1], &s->filter[3], designs);
  s->designed         = designs && (cut || body || presence);
  move_hum(s);
  if (s->gain_db.moving || s->gain_moves) {
    s->gain_moves =
      ramp_push(&s->gain, db_to_gain(glide_next(&s->gain_db, s->glide_share)));
  }
  if (s->power_frames >= s->step_frames) {
    close_level_step(s);
  }
}

/// Every channel with the same share of its hum
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
  m->align_db = level_db > GATED_LEVEL_FLOOR_DB ? (float)align_db : 0.0F;
}

STAGE_DEFINE_METERED(di_cleanup, .rests = true)
