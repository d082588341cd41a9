// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "bus_tone.h"

PARAMS_DEFINE(bus_tone, BUS_TONE_PARAMS)
METERS_DEFINE(bus_tone, BUS_TONE_METERS)

/// Width of the two body bells: broad, as side moves should be; our choice
#define BODY_OCT 1.5

/// Frequency of a filter that is off, so that it comes in from far below
#define OFF_HZ 10.0

/// Settings up to which they are off
#define LOW_CUT_OFF_HZ 20.0F
#define MONO_OFF_HZ    0.0F

#define CORRELATION_S 0.3

/// Mean square below which the correlation reads 0: -100 dBFS
#define CORRELATION_FLOOR 1e-10

static double
is_on(float f_hz, float off_hz)
{
  return f_hz > off_hz ? 1.0 : 0.0;
}

/// The frequency of a filter that can be off glides only while it is on
static double
cut_octaves(const glide* now, float f_hz, float off_hz)
{
  if (f_hz > off_hz) {
    return hz_to_octaves(f_hz);
  }
  return now->target == 0.0 ? steady_log2(OFF_HZ) : now->target;
}

GLIDES_DEFINE(bus_tone, BUS_TONE_GLIDES)

bool
bus_tone_init(bus_tone* s, double rate_hz, uint32_t n_channels)
{
  s->rate_hz    = rate_hz;
  s->n_channels = n_channels;
  s->mean_share = one_pole_share(CORRELATION_S, rate_hz);
  bus_tone_glides_init(s, rate_hz);
  return n_channels == 2;
}

void
bus_tone_set(bus_tone* s, const bus_tone_params* p)
{
  bus_tone_glides_set(s, p);
  s->settled = false;
}

/// All filters at the present values of the glides
typedef struct {
  svf_coefs both[BUS_TONE_BOTH];
  svf_coefs mid[BUS_TONE_MID];
  svf_coefs side[BUS_TONE_SIDE];
} designs;

static svf_coefs
high_pass(const glide* f, double q, const glide* on, double rate_hz)
{
  return svf_scale(svf_of_biquad(eq_high_pass(steady_exp2(f->y), q, rate_hz)),
                   on->y);
}

static svf_coefs
bell(const glide* f, const glide* db, double oct, double rate_hz)
{
  return svf_of_biquad(
    eq_bell(steady_exp2(f->y), db->y, eq_q_of_oct(oct), rate_hz));
}

static designs
design(const bus_tone* s)
{
  const double hz = s->rate_hz;

  return (designs){
    .both = {high_pass(&s->low_cut, eq_butterworth_q(2, 0), &s->low_cut_on, hz),
             bell(&s->presence, &s->presence_db, s->presence_oct.y, hz)},
    .mid  = {bell(&s->mid_body, &s->mid_body_db, BODY_OCT, hz)},
    .side = {
      bell(&s->side_body, &s->side_body_db, BODY_OCT, hz),
      svf_of_biquad(
        eq_high_shelf(steady_exp2(s->side_treble.y), s->side_treble_db.y, hz)),
      high_pass(&s->mono_below, eq_butterworth_q(4, 0), &s->mono_on, hz),
      high_pass(&s->mono_below, eq_butterworth_q(4, 1), &s->mono_on, hz)}};
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
  bus_tone_glides_snap(s);

  const designs d = design(s);
  snap(s->both, d.both, BUS_TONE_BOTH);
  snap(s->mid, d.mid, BUS_TONE_MID);
  snap(s->side, d.side, BUS_TONE_SIDE);
  ramp_snap(&s->width_ramp, s->width.y);
  s->settled = true;
  s->designs = false;
  s->sum_ll = s->sum_rr = s->sum_lr = 0.0;
}

/// Aims `n` filters; returns true while any is moving
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

  bool moving = bus_tone_glides_next(s);
  moving      = ramp_push(&s->width_ramp, s->width.y) || moving;

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

/// Updates the running means of the products of the two outputs
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

STAGE_DEFINE_METERED(bus_tone)
