// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "speaker_breakup.h"

#include "common/breakup_loudness.h"
#include "common/fastmath.h"

#include <string.h>

PARAMS_DEFINE(speaker_breakup, SPEAKER_BREAKUP_PARAMS)
METERS_DEFINE(speaker_breakup, SPEAKER_BREAKUP_METERS)

// Centre of the resonator of a 12 inch cone
#define RESONANCE_HZ 2600.0

// Rise of the presence bell: LIFT_DB * shift / (shift + LIFT_OCT), 2 dB at the
// default; fall of the low-pass per octave of shift, 0.15 octaves there
#define LIFT_DB  4.0
#define LIFT_OCT 0.25
#define FALL     0.6

// Level of the rest of the loudspeaker, taken off
#define LEVEL_DB 0.5

// A new loudspeaker runs this long unheard, then takes over in the same time
#define FADE_S 0.020

static double
value(const speaker_breakup* s, int control)
{
  return s->controls[control].y;
}

static void
set_moves(const speaker_breakup* s, speaker* p)
{
  const double shift = value(s, SPEAKER_SHIFT_OCT);
  breakup_set_resonance(&p->cone, RESONANCE_HZ / cone_scale(p->choice.size),
                        shift);
  cabinet_set_moves(&p->box, LIFT_DB * shift / (shift + LIFT_OCT),
                    FALL * shift);
}

/// Build a loudspeaker and be at rest at a position
static void
start_speaker(const speaker_breakup* s, speaker* p, float position)
{
  const speaker_choice c = s->wanted;

  p->choice                 = c;
  const motor_driver driver = cone_driver(c.size, c.is_open);
  motor_init(&p->coil, &driver, value(s, SPEAKER_SOURCE_OHM), s->rate_hz);
  breakup_init(&p->cone, c.factor, s->rate_hz);
  cabinet_init(&p->box, c.size, c.is_open, s->rate_hz);
  for (uint32_t k = 0; k < MAX_CHANNELS; ++k) {
    oversample_init(&p->rates[k], c.factor);
  }
  set_moves(s, p);
  breakup_snap(&p->cone, (double)position);
  cabinet_snap(&p->box, (double)position, value(s, SPEAKER_OFF_AXIS));
}

bool
speaker_breakup_init(speaker_breakup* s, double rate_hz, uint32_t n_channels)
{
  s->rate_hz     = rate_hz;
  s->n_channels  = n_channels;
  s->glide_share = glide_share(rate_hz);
  return true;
}

void
speaker_breakup_set(speaker_breakup* s, const speaker_breakup_params* p)
{
  const breakup_settings settings = {.drive_db   = (double)p->drive_db,
                                     .follow     = 0.01 * (double)p->follow_pc,
                                     .breakup_db = (double)p->breakup_db,
                                     .mix        = 0.01 * (double)p->mix_pc,
                                     .feedback = 0.01 * (double)p->feedback_pc,
                                     .squeeze_db = (double)p->squeeze_db};

  const double to[SPEAKER_N_GLIDES] = {
    [SPEAKER_DRIVE_DB]   = settings.drive_db,
    [SPEAKER_LEVEL_DB]   = LEVEL_DB - breakup_loudness_lu(&settings),
    [SPEAKER_FOLLOW]     = settings.follow,
    [SPEAKER_BREAKUP_DB] = settings.breakup_db,
    [SPEAKER_MIX]        = settings.mix,
    [SPEAKER_FEEDBACK]   = settings.feedback,
    [SPEAKER_SQUEEZE_DB] = settings.squeeze_db,
    [SPEAKER_SHIFT_OCT]  = (double)p->shift_oct,
    [SPEAKER_SOURCE_OHM] = (double)p->source_ohm,
    [SPEAKER_OFF_AXIS]   = 0.01 * (double)p->off_axis_pc,
  };
  for (int i = 0; i < SPEAKER_N_GLIDES; ++i) {
    glide_set(&s->controls[i], to[i]);
  }

  breakup_follower_set(&s->follower, (double)p->attack_ms,
                       (double)p->release_ms, s->rate_hz);
  s->wanted = (speaker_choice){
    .size        = (cone_size)lrintf(p->cone),
    .is_open     = p->back > 0.5F,
    .has_cabinet = p->cabinet > 0.5F,
    .factor      = oversample_factor((uint32_t)lrintf(p->quality), s->rate_hz)};
}

/// What a ramp is bound for
static double
ramp_target(const speaker_breakup* s, int i)
{
  const double drive_db = value(s, SPEAKER_DRIVE_DB);
  const double per_db   = (double)OCTAVES_PER_DB;
  switch (i) {
    case SPEAKER_IN:
      return db_to_gain(drive_db);
    case SPEAKER_OUT:
      return db_to_gain(value(s, SPEAKER_LEVEL_DB) - drive_db);
    case SPEAKER_FROM:
      return 1.0 - value(s, SPEAKER_FOLLOW);
    case SPEAKER_OCTAVES:
      return per_db * value(s, SPEAKER_BREAKUP_DB);
    case SPEAKER_SHARE:
      return value(s, SPEAKER_MIX);
    case SPEAKER_LOOP:
      return value(s, SPEAKER_FEEDBACK);
    default:
      return -per_db * value(s, SPEAKER_SQUEEZE_DB);
  }
}

/// Gains of a frame at a position, of which the ramps say what 0 and 1 are
typedef struct {
  float drive, dry, wet;
} frame_gains;

static inline frame_gains
gains_at(float q, float octaves, float share, float softer, float out)
{
  const float mix =
    share * ((float)BREAKUP_SOFT_MIX + (1.0F - (float)BREAKUP_SOFT_MIX) * q);
  const float squeeze = out * fast_exp2(softer * q);
  return (frame_gains){
    .drive = fast_exp2(octaves * q),
    .dry   = squeeze * (1.0F - mix),
    .wet = squeeze * mix * fast_exp2(-(float)BREAKUP_TAKEN_OFF * octaves * q)};
}

void
speaker_breakup_reset(speaker_breakup* s)
{
  for (int i = 0; i < SPEAKER_N_GLIDES; ++i) {
    glide_snap(&s->controls[i]);
  }
  for (int i = 0; i < SPEAKER_N_RAMPS; ++i) {
    ramp_snap(&s->ramps[i], ramp_target(s, i));
  }
  s->ramps_move = false;

  breakup_follower_reset(&s->follower);
  const float       q = s->ramps[SPEAKER_FROM].v;
  const frame_gains g =
    gains_at(q, s->ramps[SPEAKER_OCTAVES].v, s->ramps[SPEAKER_SHARE].v,
             s->ramps[SPEAKER_SOFTER].v, s->ramps[SPEAKER_OUT].v);
  s->last[0]  = g.drive;
  s->last[1]  = g.dry;
  s->last[2]  = g.wet;
  s->how_hard = 0.0F;
  s->sum      = q * CONTROL_FRAMES;
  s->active   = 0;
  s->fade     = 0;
  start_speaker(s, &s->speakers[0], q);
}

static bool
same_choice(speaker_choice a, speaker_choice b)
{
  return a.size == b.size && a.is_open == b.is_open &&
         a.has_cabinet == b.has_cabinet && a.factor == b.factor;
}

static uint32_t
fade_frames(const speaker_breakup* s)
{
  return (uint32_t)(FADE_S * s->rate_hz);
}

/// Start or end a crossfade; it is not cut short by the next one
static void
choose_speaker(speaker_breakup* s, float position)
{
  if (s->fade >= 2 * fade_frames(s)) {
    s->active = 1 - s->active;
    s->fade   = 0;
  }
  if (s->fade == 0 && !same_choice(s->wanted, s->speakers[s->active].choice)) {
    start_speaker(s, &s->speakers[1 - s->active], position);
    s->fade = 1;
  }
}

void
speaker_breakup_control(speaker_breakup* s)
{
  const bool shifts = s->controls[SPEAKER_SHIFT_OCT].moving;
  for (int i = 0; i < SPEAKER_N_GLIDES; ++i) {
    s->ramps_move = s->ramps_move || s->controls[i].moving;
    glide_next(&s->controls[i], s->glide_share);
  }
  if (s->ramps_move) {
    s->ramps_move = false;
    for (int i = 0; i < SPEAKER_N_RAMPS; ++i) {
      const bool moves = ramp_push(&s->ramps[i], ramp_target(s, i));
      s->ramps_move    = s->ramps_move || moves;
    }
  }

  // The tone follows the mean position of the line before
  const float position = s->sum * (1.0F / CONTROL_FRAMES);
  s->sum               = 0.0F;
  choose_speaker(s, position);
  for (uint32_t i = 0; i < (s->fade ? 2U : 1U); ++i) {
    speaker* const p = &s->speakers[i == 0 ? s->active : 1 - s->active];
    if (shifts) {
      set_moves(s, p);
    }
    motor_push(&p->coil, value(s, SPEAKER_SOURCE_OHM), p->coil.driver.re_ohm);
    breakup_push(&p->cone, (double)position);
    cabinet_push(&p->box, (double)position, value(s, SPEAKER_OFF_AXIS));
  }
}

/// Values of the ramps for a block
static void
run_ramps(speaker_breakup* s, float (*v)[CONTROL_FRAMES], uint32_t n)
{
  for (int k = 0; k < SPEAKER_N_RAMPS; ++k) {
    ramp* const r = &s->ramps[k];
    if (s->ramps_move) {
      for (uint32_t i = 0; i < n; ++i) {
        v[k][i] = ramp_next(r);
      }
    } else {
      for (uint32_t i = 0; i < n; ++i) {
        v[k][i] = r->v;
      }
    }
  }
}

/// The moves of a block: per frame, with those of the frame before in front
typedef struct {
  float drive[1 + CONTROL_FRAMES];
  float dry[1 + CONTROL_FRAMES];
  float wet[1 + CONTROL_FRAMES];
  float feedback[CONTROL_FRAMES];
} block_moves;

/// q: how hard each frame is played, replaced by its position
static void
make_moves(speaker_breakup* s,
           float (*v)[CONTROL_FRAMES],
           float*       q,
           block_moves* m,
           uint32_t     n)
{
  for (uint32_t i = 0; i < n; ++i) {
    const float from = v[SPEAKER_FROM][i];
    q[i]             = from + (1.0F - from) * q[i];

    const frame_gains g =
      gains_at(q[i], v[SPEAKER_OCTAVES][i], v[SPEAKER_SHARE][i],
               v[SPEAKER_SOFTER][i], v[SPEAKER_OUT][i]);
    m->drive[i + 1] = g.drive;
    m->dry[i + 1]   = g.dry;
    m->wet[i + 1]   = g.wet;
    m->feedback[i]  = v[SPEAKER_LOOP][i] * q[i];
  }
  m->drive[0] = s->last[0];
  m->dry[0]   = s->last[1];
  m->wet[0]   = s->last[2];
  s->last[0]  = m->drive[n];
  s->last[1]  = m->dry[n];
  s->last[2]  = m->wet[n];
  for (uint32_t i = 0; i < n; ++i) {
    s->sum += q[i];
  }
}

static void
run_speaker(speaker*            p,
            const block_moves*  m,
            const float* const* in,
            float* const*       out,
            uint32_t            n_channels,
            uint32_t            n)
{
  const breakup_moves moves = {.drive    = m->drive + 1,
                               .dry      = m->dry + 1,
                               .wet      = m->wet + 1,
                               .feedback = m->feedback};

  float  inner[MAX_CHANNELS][OVERSAMPLE_MAX_SAMPLES];
  float* at[MAX_CHANNELS] = {inner[0], inner[1]};

  const float* const* from = in;
  if (p->choice.has_cabinet) {
    motor_process(&p->coil, in, out, n_channels, n);
    from = (const float* const*)out;
  }
  for (uint32_t k = 0; k < n_channels; ++k) {
    oversample_up(&p->rates[k], from[k], inner[k], n);
  }
  breakup_process(&p->cone, &moves, at, n_channels, n);
  for (uint32_t k = 0; k < n_channels; ++k) {
    oversample_down(&p->rates[k], inner[k], out[k], n);
  }
  if (p->choice.has_cabinet) {
    cabinet_process(&p->box, (const float* const*)out, out, n_channels, n);
  }
}

/// From the speaker that plays, at `out`, to the other one
static void
crossfade(const speaker_breakup* s,
          const float (*other)[CONTROL_FRAMES],
          float* const* out,
          uint32_t      n)
{
  const float whole = (float)fade_frames(s);
  for (uint32_t i = 0; i < n; ++i) {
    const float t = clampf(((float)(s->fade + i) - whole) / whole, 0.0F, 1.0F);
    const float share = t * t * (3.0F - 2.0F * t);
    for (uint32_t k = 0; k < s->n_channels; ++k) {
      out[k][i] += share * (other[k][i] - out[k][i]);
    }
  }
}

void
speaker_breakup_process(speaker_breakup*    s,
                        const float* const* in,
                        float* const*       out,
                        uint32_t            n)
{
  float v[SPEAKER_N_RAMPS][CONTROL_FRAMES];
  run_ramps(s, v, n);

  float        driven[MAX_CHANNELS][CONTROL_FRAMES];
  const float* from[MAX_CHANNELS] = {driven[0], driven[1]};
  for (uint32_t k = 0; k < s->n_channels; ++k) {
    for (uint32_t i = 0; i < n; ++i) {
      driven[k][i] = v[SPEAKER_IN][i] * in[k][i];
    }
  }

  float       q[CONTROL_FRAMES];
  block_moves moves;
  breakup_follower_process(&s->follower, from, q, s->n_channels, n);
  s->how_hard = q[n - 1];
  make_moves(s, v, q, &moves, n);

  run_speaker(&s->speakers[s->active], &moves, from, out, s->n_channels, n);
  if (s->fade) {
    float  other[MAX_CHANNELS][CONTROL_FRAMES];
    float* to[MAX_CHANNELS] = {other[0], other[1]};
    run_speaker(&s->speakers[1 - s->active], &moves, from, to, s->n_channels,
                n);
    crossfade(s, (const float(*)[CONTROL_FRAMES])other, out, n);
    s->fade += n;
  }
}

uint32_t
speaker_breakup_latency_frames(const speaker_breakup* s)
{
  return oversample_latency_frames(s->wanted.factor);
}

void
speaker_breakup_meter(const speaker_breakup* s, speaker_breakup_meters* m)
{
  m->follower_pc = 100.0F * s->how_hard;
}

STAGE_DEFINE_METERED(speaker_breakup)
