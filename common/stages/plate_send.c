// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "plate_send.h"

#include "common/plate/plate.h"

PARAMS_DEFINE(plate_send, PLATE_SEND_PARAMS)

#define TREBLE_HZ  3500.0
#define WET_OFF_DB (-60.0)

/// Time constant of each of the three smoothers of a decay time: slower than
/// other controls, because a plate is not muffled at once either (our choice)
#define DECAY_TAU_S 0.03

// ---------------------------------------------------------------------------
// Decay and level

static plate_decay
decay_now(const plate_send* s)
{
  return (plate_decay){exp(s->decay.y + s->low_decay.y), exp(s->decay.y),
                       exp(s->decay.y + s->high_decay.y)};
}

static void
control_decay(plate_send* s)
{
  const bool moving =
    s->decay.moving || s->low_decay.moving || s->high_decay.moving;
  if (moving) {
    (void)glide_next(&s->decay, s->decay_share);
    (void)glide_next(&s->low_decay, s->decay_share);
    (void)glide_next(&s->high_decay, s->decay_share);
    const plate_decay decay = decay_now(s);
    plate_body_set_decay(&s->body, &decay);
    (void)ramp_push(&s->drive, plate_level(&decay, s->rate_hz));
  } else if (s->drive.moving) {
    (void)ramp_push(&s->drive, s->drive.p1);
  }
}

// ---------------------------------------------------------------------------
// Filters and levels

/// `width` is the share of the side; the power of each output stays
static void
mid_and_side(double width, double gain, double* mid, double* side)
{
  *mid  = gain * sqrt(2.0 / (1.0 + width * width));
  *side = *mid * width;
}

static void
control_filters(plate_send* s)
{
  const bool moving = s->low_cut.moving || s->high_cut.moving ||
                      s->treble.moving || s->filter[0].moving ||
                      s->filter[1].moving || s->filter[2].moving;
  if (!moving) {
    return;
  }
  const double low    = exp2(glide_next(&s->low_cut, s->glide_share));
  const double high   = exp2(glide_next(&s->high_cut, s->glide_share));
  const double treble = glide_next(&s->treble, s->glide_share);
  svf_push(&s->filter[0], eq_high_pass(low, sqrt(0.5), s->rate_hz));
  svf_push(&s->filter[1], eq_low_pass(high, sqrt(0.5), s->rate_hz));
  svf_push(&s->filter[2], eq_high_shelf(TREBLE_HZ, treble, s->rate_hz));
}

static void
snap_filters(plate_send* s)
{
  const double low  = exp2(s->low_cut.target);
  const double high = exp2(s->high_cut.target);
  svf_snap(&s->filter[0], eq_high_pass(low, sqrt(0.5), s->rate_hz));
  svf_snap(&s->filter[1], eq_low_pass(high, sqrt(0.5), s->rate_hz));
  svf_snap(&s->filter[2],
           eq_high_shelf(TREBLE_HZ, s->treble.target, s->rate_hz));
  for (uint32_t i = 0; i < 3; ++i) {
    svf_reset(&s->filter[i]);
  }
}

static void
control_levels(plate_send* s)
{
  const double width = glide_next(&s->width, s->glide_share);
  const double wet   = glide_next(&s->wet, s->glide_share);
  double       mid   = 0.0;
  double       side  = 0.0;
  mid_and_side(width, wet, &mid, &side);
  (void)ramp_push(&s->mid_ramp, mid);
  (void)ramp_push(&s->side_ramp, side);
  (void)ramp_push(&s->dry_ramp, glide_next(&s->dry, s->glide_share));
}

// ---------------------------------------------------------------------------
// The stage

bool
plate_send_init(plate_send* s, double rate_hz, uint32_t n_channels)
{
  (void)n_channels; // Always two
  s->rate_hz     = rate_hz;
  s->glide_share = glide_share(rate_hz);
  s->decay_share = one_pole_share(DECAY_TAU_S, rate_hz / CONTROL_FRAMES);
  plate_predelay_init(&s->predelay, rate_hz);
  return plate_body_init(&s->body, rate_hz);
}

void
plate_send_set(plate_send* s, const plate_send_params* p)
{
  glide_set(&s->decay, log((double)p->decay_s));
  glide_set(&s->low_decay, log(0.01 * (double)p->low_decay_pc));
  glide_set(&s->high_decay, log(0.01 * (double)p->high_decay_pc));
  glide_set(&s->low_cut, log2((double)p->low_cut_hz));
  glide_set(&s->high_cut, log2((double)p->high_cut_hz));
  glide_set(&s->treble, (double)p->treble_db);
  glide_set(&s->width, 0.01 * (double)p->width_pc);

  const double wet_db = (double)p->wet_db;
  glide_set(&s->wet, wet_db > WET_OFF_DB ? db_to_gain(wet_db) : 0.0);
  glide_set(&s->dry, (double)p->dry);

  const double frames = 1e-3 * (double)p->predelay_ms * s->rate_hz;
  plate_predelay_set(&s->predelay, (uint32_t)lround(frames));
  plate_body_choose(&s->body, (plate_quality)p->quality);
}

void
plate_send_reset(plate_send* s)
{
  glide_snap(&s->decay);
  glide_snap(&s->low_decay);
  glide_snap(&s->high_decay);
  const plate_decay decay = decay_now(s);
  plate_body_set_decay(&s->body, &decay);
  ramp_snap(&s->drive, plate_level(&decay, s->rate_hz));
  plate_body_reset(&s->body);

  glide_snap(&s->low_cut);
  glide_snap(&s->high_cut);
  glide_snap(&s->treble);
  snap_filters(s);

  glide_snap(&s->width);
  glide_snap(&s->wet);
  glide_snap(&s->dry);
  double mid  = 0.0;
  double side = 0.0;
  mid_and_side(s->width.y, s->wet.y, &mid, &side);
  ramp_snap(&s->mid_ramp, mid);
  ramp_snap(&s->side_ramp, side);
  ramp_snap(&s->dry_ramp, s->dry.y);

  plate_predelay_reset(&s->predelay);
}

void
plate_send_control(plate_send* s)
{
  control_decay(s);
  control_filters(s);
  control_levels(s);
  plate_predelay_control(&s->predelay);
  plate_body_control(&s->body);
}

/// From the inputs to the plate
static void
drive(plate_send* s, const float* const* in, float* const* x, uint32_t n)
{
  float gain[CONTROL_FRAMES];
  svf_cascade(s->filter, 3, in, x, 2, n);
  ramp_values(&s->drive, gain, n);
  for (uint32_t i = 0; i < n; ++i) {
    x[0][i] *= gain[i];
    x[1][i] *= gain[i];
  }
  plate_predelay_process(&s->predelay, x, n);
}

void
plate_send_process(plate_send*         s,
                   const float* const* in,
                   float* const*       out,
                   uint32_t            n)
{
  float              data[2][CONTROL_FRAMES];
  float              sound[2][CONTROL_FRAMES];
  float* const       to[]   = {data[0], data[1]};
  const float* const from[] = {data[0], data[1]};
  float* const       y[]    = {sound[0], sound[1]};
  drive(s, in, to, n);
  plate_body_process(&s->body, from, y, n);

  float mid[CONTROL_FRAMES];
  float side[CONTROL_FRAMES];
  float dry[CONTROL_FRAMES];
  ramp_values(&s->mid_ramp, mid, n);
  ramp_values(&s->side_ramp, side, n);
  ramp_values(&s->dry_ramp, dry, n);
  for (uint32_t i = 0; i < n; ++i) {
    const float m = 0.5F * mid[i] * (y[0][i] + y[1][i]);
    const float d = 0.5F * side[i] * (y[0][i] - y[1][i]);
    y[0][i]       = m + d;
    y[1][i]       = m - d;
  }
  for (uint32_t k = 0; k < 2; ++k) {
    for (uint32_t i = 0; i < n; ++i) {
      out[k][i] = dry[i] * in[k][i] + y[k][i];
    }
  }
}

uint32_t
plate_send_latency_frames(const plate_send* s)
{
  (void)s;
  return 0;
}

/// What is left of the tail is silent, too
static bool
is_calm(const void* state) NONBLOCKING
{
  const plate_send* const s = state;
  return s->wet.y >= STAGE_TAIL_GAIN;
}

STAGE_DEFINE(plate_send, .rests = true, .is_calm = is_calm)
