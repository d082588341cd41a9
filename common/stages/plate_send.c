// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "plate_send.h"

#include "common/plate/plate.h"

PARAMS_DEFINE(plate_send, PLATE_SEND_PARAMS)

#define TREBLE_HZ  3500.0
#define WET_OFF_DB (-60.0)

#define DECAY_TAU_S 0.03

/// Returns 0 at the lowest setting, which is off
static double
gain_of_wet(double db)
{
  return db > WET_OFF_DB ? db_to_gain(db) : 0.0;
}

GLIDES_DEFINE(plate_send, PLATE_SEND_GLIDES)

// ---------------------------------------------------------------------------
// Decay and level

static plate_decay
decay_now(const plate_send* s)
{
  return (plate_decay){steady_exp(s->decay.y + s->low_decay.y),
                       steady_exp(s->decay.y),
                       steady_exp(s->decay.y + s->high_decay.y)};
}

static void
control_decay(plate_send* s, bool moving)
{
  if (moving) {
    const plate_decay decay = decay_now(s);
    plate_body_set_decay(&s->body, &decay);
    (void)ramp_push(&s->drive, plate_level(&decay, s->rate_hz));
  } else if (s->drive.moving) {
    (void)ramp_push(&s->drive, s->drive.p1);
  }
}

// ---------------------------------------------------------------------------
// Filters and levels

/// Computes the gains of mid and side; `width` is the share of the side, and
/// the power of each output stays
static void
mid_and_side(double width, double gain, double* mid, double* side)
{
  *mid  = gain * sqrt(2.0 / (1.0 + width * width));
  *side = *mid * width;
}

typedef struct {
  biquad low_cut, high_cut, treble;
} designs;

static designs
design(const plate_send* s)
{
  return (designs){
    .low_cut  = eq_high_pass(steady_exp2(s->low_cut.y), sqrt(0.5), s->rate_hz),
    .high_cut = eq_low_pass(steady_exp2(s->high_cut.y), sqrt(0.5), s->rate_hz),
    .treble   = eq_high_shelf(TREBLE_HZ, s->treble.y, s->rate_hz)};
}

static bool
filters_move(const plate_send* s)
{
  return s->low_cut.moving || s->high_cut.moving || s->treble.moving ||
         s->filter[0].moving || s->filter[1].moving || s->filter[2].moving;
}

static void
control_filters(plate_send* s)
{
  const designs d = design(s);
  svf_push(&s->filter[0], d.low_cut);
  svf_push(&s->filter[1], d.high_cut);
  svf_push(&s->filter[2], d.treble);
}

static void
snap_filters(plate_send* s)
{
  const designs d = design(s);
  svf_snap(&s->filter[0], d.low_cut);
  svf_snap(&s->filter[1], d.high_cut);
  svf_snap(&s->filter[2], d.treble);
  for (uint32_t i = 0; i < 3; ++i) {
    svf_reset(&s->filter[i]);
  }
}

static void
control_levels(plate_send* s)
{
  double mid  = 0.0;
  double side = 0.0;
  mid_and_side(s->width.y, s->wet.y, &mid, &side);
  (void)ramp_push(&s->mid_ramp, mid);
  (void)ramp_push(&s->side_ramp, side);
  (void)ramp_push(&s->dry_ramp, s->dry.y);
}

// ---------------------------------------------------------------------------
// The stage

bool
plate_send_init(plate_send* s, double rate_hz, uint32_t n_channels)
{
  (void)n_channels; // Always two
  s->rate_hz = rate_hz;
  plate_send_glides_init(s, rate_hz);
  plate_predelay_init(&s->predelay, rate_hz);
  return plate_body_init(&s->body, rate_hz);
}

void
plate_send_set(plate_send* s, const plate_send_params* p)
{
  plate_send_glides_set(s, p);
  const double frames = 1e-3 * (double)p->predelay_ms * s->rate_hz;
  plate_predelay_set(&s->predelay, (uint32_t)lround(frames));
  plate_body_choose(&s->body, (plate_quality)p->quality);
}

void
plate_send_reset(plate_send* s)
{
  plate_send_glides_snap(s);
  const plate_decay decay = decay_now(s);
  plate_body_set_decay(&s->body, &decay);
  ramp_snap(&s->drive, plate_level(&decay, s->rate_hz));
  plate_body_restart(&s->body);

  snap_filters(s);

  double mid  = 0.0;
  double side = 0.0;
  mid_and_side(s->width.y, s->wet.y, &mid, &side);
  ramp_snap(&s->mid_ramp, mid);
  ramp_snap(&s->side_ramp, side);
  ramp_snap(&s->dry_ramp, s->dry.y);

  plate_predelay_restart(&s->predelay);
}

void
plate_send_control(plate_send* s)
{
  const bool decay =
    s->decay.moving || s->low_decay.moving || s->high_decay.moving;
  const bool filters = filters_move(s);
  (void)plate_send_glides_next(s);
  control_decay(s, decay);
  if (filters) {
    control_filters(s);
  }
  control_levels(s);
  plate_predelay_control(&s->predelay);
  plate_body_control(&s->body);
}

/// Takes the inputs to the plate
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

static bool
memory(void* state, uint32_t i, memory_part* part) NONBLOCKING
{
  plate_send* const s       = state;
  const size_t      modes   = plate_modes_size(&s->body.modes);
  const size_t      past    = tap_line_size(&s->predelay.past[0]);
  const memory_part parts[] = {
    {s->predelay.line[0], past},
    {s->predelay.line[1], past},
    {s->body.modes.re, modes},
    {s->body.modes.im, modes},
    {s->body.light.line, plate_light_size(&s->body.light)},
  };
  if (i >= sizeof(parts) / sizeof(parts[0])) {
    return false;
  }
  *part = parts[i];
  return true;
}

static bool
prepare(void* state) NONBLOCKING
{
  plate_send* const s = state;
  plate_send_glides_snap(s);
  const plate_decay decay = decay_now(s);
  plate_body_set_decay(&s->body, &decay);
  return plate_modes_prepare(&s->body.modes);
}

STAGE_DEFINE_WITH(plate_send, .memory = memory, .prepare = prepare)
