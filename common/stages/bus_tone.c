// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "bus_tone.h"

PARAMS_DEFINE(bus_tone, BUS_TONE_PARAMS)
METERS_DEFINE(bus_tone, BUS_TONE_METERS)

/// Rows of the table of controls
enum {
  LOW_CUT,
  MID_BODY,
  MID_BODY_DB,
  SIDE_BODY,
  SIDE_BODY_DB,
  SIDE_TREBLE,
  SIDE_TREBLE_DB,
  PRESENCE,
  PRESENCE_DB,
  PRESENCE_OCT,
  WIDTH,
  MONO_BELOW,
};

/// Width of the two body bells: broad, as side moves should be; our choice
#define BODY_OCT 1.5

/// Where the filters stand that are off, so that they come in from far below
#define OFF_HZ 10.0

#define CORRELATION_S 0.3

/// Mean squares below which there is nothing to compare: -100 dBFS
#define CORRELATION_FLOOR 1e-10

bool
bus_tone_init(bus_tone* s, double rate_hz, uint32_t n_channels)
{
  s->rate_hz     = rate_hz;
  s->n_channels  = n_channels;
  s->glide_share = glide_share(rate_hz);
  s->mean_share  = one_pole_share(CORRELATION_S, rate_hz);
  return n_channels == 2;
}

/// A filter with an off: `on` fades it, its frequency glides only while it is
static void
set_cut(glide* on, glide* f, double f_hz, double off_hz)
{
  const bool is_on = f_hz > off_hz;
  glide_set(on, is_on ? 1.0 : 0.0);
  if (is_on || f->target == 0.0) {
    glide_set(f, log2(is_on ? f_hz : OFF_HZ));
  }
}

void
bus_tone_set(bus_tone* s, const bus_tone_params* p)
{
  glide* const c = s->control;

  set_cut(&s->low_cut_on, &c[LOW_CUT], (double)p->low_cut_hz, 20.0);
  set_cut(&s->mono_on, &c[MONO_BELOW], (double)p->mono_below_hz, 0.0);
  glide_set(&c[MID_BODY], log2((double)p->mid_body_hz));
  glide_set(&c[MID_BODY_DB], (double)p->mid_body_db);
  glide_set(&c[SIDE_BODY], log2((double)p->side_body_hz));
  glide_set(&c[SIDE_BODY_DB], (double)p->side_body_db);
  glide_set(&c[SIDE_TREBLE], log2((double)p->side_treble_hz));
  glide_set(&c[SIDE_TREBLE_DB], (double)p->side_treble_db);
  glide_set(&c[PRESENCE], log2((double)p->presence_hz));
  glide_set(&c[PRESENCE_DB], (double)p->presence_db);
  glide_set(&c[PRESENCE_OCT], (double)p->presence_oct);
  glide_set(&c[WIDTH], 0.01 * (double)p->width_pc);
  s->settled = false;
}

/// All filters as the glides stand
typedef struct {
  svf_coefs both[BUS_TONE_BOTH];
  svf_coefs mid[BUS_TONE_MID];
  svf_coefs side[BUS_TONE_SIDE];
} designs;

static svf_coefs
high_pass(const bus_tone* s, uint32_t row, double q, double on)
{
  const double f_hz = exp2(s->control[row].y);
  return svf_scale(svf_of_biquad(eq_high_pass(f_hz, q, s->rate_hz)), on);
}

static svf_coefs
bell(const bus_tone* s, uint32_t row, double oct)
{
  return svf_of_biquad(eq_bell(exp2(s->control[row].y), s->control[row + 1].y,
                               eq_q_of_oct(oct), s->rate_hz));
}

static designs
design(const bus_tone* s)
{
  const glide* const c = s->control;

  return (designs){
    .both = {high_pass(s, LOW_CUT, eq_butterworth_q(2, 0), s->low_cut_on.y),
             bell(s, PRESENCE, c[PRESENCE_OCT].y)},
    .mid  = {bell(s, MID_BODY, BODY_OCT)},
    .side = {bell(s, SIDE_BODY, BODY_OCT),
             svf_of_biquad(eq_high_shelf(exp2(c[SIDE_TREBLE].y),
                                         c[SIDE_TREBLE_DB].y, s->rate_hz)),
             high_pass(s, MONO_BELOW, eq_butterworth_q(4, 0), s->mono_on.y),
             high_pass(s, MONO_BELOW, eq_butterworth_q(4, 1), s->mono_on.y)}};
}

static void
snap(svf* f, const svf_coefs* c, uint32_t n)
{
  for (uint32_t i = 0; i < n; ++i) {
    svf_reset(&f[i]);
    svf_snap_coefs(&f[i], c[i]);
  }
}

void
bus_tone_reset(bus_tone* s)
{
  for (uint32_t i = 0; i < bus_tone_n_params; ++i) {
    glide_snap(&s->control[i]);
  }
  glide_snap(&s->low_cut_on);
  glide_snap(&s->mono_on);

  const designs d = design(s);
  snap(s->both, d.both, BUS_TONE_BOTH);
  snap(s->mid, d.mid, BUS_TONE_MID);
  snap(s->side, d.side, BUS_TONE_SIDE);
  ramp_snap(&s->width_ramp, s->control[WIDTH].y);
  s->settled = true;
  s->designs = false;
  s->sum_ll = s->sum_rr = s->sum_lr = 0.0;
}

/// Aim `n` filters; true while any is on its way
static bool
push(svf* f, const svf_coefs* c, uint32_t n)
{
  bool moving = false;
  for (uint32_t i = 0; i < n; ++i) {
    svf_push_coefs_slow(&f[i], c[i]);
    moving = moving || f[i].moving;
  }
  return moving;
}

void
bus_tone_control(bus_tone* s)
{
  if (s->settled) {
    return;
  }

  bool moving = s->low_cut_on.moving || s->mono_on.moving;
  (void)glide_next(&s->low_cut_on, s->glide_share);
  (void)glide_next(&s->mono_on, s->glide_share);
  for (uint32_t i = 0; i < bus_tone_n_params; ++i) {
    moving = moving || s->control[i].moving;
    (void)glide_next(&s->control[i], s->glide_share);
  }

  moving = ramp_push(&s->width_ramp, s->control[WIDTH].y) || moving;

  s->designs = !s->designs;
  if (s->designs) {
    const designs d = design(s);
    moving          = push(s->both, d.both, BUS_TONE_BOTH) || moving;
    moving          = push(s->mid, d.mid, BUS_TONE_MID) || moving;
    moving          = push(s->side, d.side, BUS_TONE_SIDE) || moving;
    s->settled      = !moving;
    s->designs      = moving;
  }
}

/// Running means of the products of the two outputs
static void
correlate(bus_tone* s, const float* left, const float* right, uint32_t n)
{
  const double share = s->mean_share;
  double       ll    = s->sum_ll;
  double       rr    = s->sum_rr;
  double       lr    = s->sum_lr;
  for (uint32_t i = 0; i < n; ++i) {
    const double l = (double)left[i];
    const double r = (double)right[i];
    ll += share * (l * l - ll);
    rr += share * (r * r - rr);
    lr += share * (l * r - lr);
  }
  s->sum_ll = ll;
  s->sum_rr = rr;
  s->sum_lr = lr;
}

void
bus_tone_process(bus_tone*           s,
                 const float* const* in,
                 float* const*       out,
                 uint32_t            n)
{
  f64x2 x[CONTROL_FRAMES];
  f64x2 mid[CONTROL_FRAMES];
  f64x2 side[CONTROL_FRAMES];
  float width[CONTROL_FRAMES];

  svf_load(in, x, 2, n);
  svf_run(s->both, BUS_TONE_BOTH, x, 2, n);
  for (uint32_t i = 0; i < n; ++i) {
    mid[i]  = (f64x2){0.5 * (x[i][0] + x[i][1]), 0.0};
    side[i] = (f64x2){0.5 * (x[i][0] - x[i][1]), 0.0};
  }
  svf_run(s->mid, BUS_TONE_MID, mid, 1, n);
  svf_run(s->side, BUS_TONE_SIDE, side, 1, n);

  ramp_values(&s->width_ramp, width, n);
  for (uint32_t i = 0; i < n; ++i) {
    const double apart = (double)width[i] * side[i][0];
    out[0][i]          = (float)(mid[i][0] + apart);
    out[1][i]          = (float)(mid[i][0] - apart);
  }
  correlate(s, out[0], out[1], n);
}

uint32_t
bus_tone_latency_frames(const bus_tone* s)
{
  (void)s;
  return 0;
}

void
bus_tone_meter(const bus_tone* s, bus_tone_meters* m)
{
  const double power = s->sum_ll * s->sum_rr;
  const bool   sounds =
    s->sum_ll > CORRELATION_FLOOR && s->sum_rr > CORRELATION_FLOOR;
  m->correlation =
    sounds ? (float)clampd(s->sum_lr / sqrt(power), -1.0, 1.0) : 0.0F;
}

/// The correlation has gone
static bool
is_calm(const void* state) NONBLOCKING
{
  const bus_tone* const s = state;
  return s->sum_ll < CORRELATION_FLOOR && s->sum_rr < CORRELATION_FLOOR;
}

STAGE_DEFINE_METERED(bus_tone, .rests = true, .is_calm = is_calm)
