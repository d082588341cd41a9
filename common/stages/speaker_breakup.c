// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "speaker_breakup.h"

#include "common/core/crossfade.h"
#include "common/core/fastmath.h"
#include "common/speaker/breakup_loudness.h"

#include <string.h>

PARAMS_DEFINE(speaker_breakup, SPEAKER_BREAKUP_PARAMS)
METERS_DEFINE(speaker_breakup, SPEAKER_BREAKUP_METERS)

// Gain that offsets the level of the rest of the loudspeaker
#define LEVEL_DB 0.5

// A new loudspeaker runs this long unheard, then takes over in the same time
#define FADE_S 0.020

_Static_assert(OVERSAMPLE_MAX_LATENCY <= BALANCE_MAX_LATENCY,
               "Latency fits the balance");

static double
level_db_of(const speaker_breakup_params* p)
{
  const breakup_settings settings = {.drive_db   = (double)p->drive_db,
                                     .follow     = pc_to_share(p->follow_pc),
                                     .breakup_db = (double)p->breakup_db,
                                     .mix        = pc_to_share(p->mix_pc),
                                     .feedback   = pc_to_share(p->feedback_pc),
                                     .squeeze_db = (double)p->squeeze_db};
  return LEVEL_DB - breakup_loudness_lu(&settings);
}

GLIDES_DEFINE(speaker_breakup, SPEAKER_BREAKUP_GLIDES)

static speaker_line
line_at(const speaker_breakup* s, float position)
{
  return (speaker_line){.position   = (double)position,
                        .source_ohm = s->source_ohm.y,
                        .off_axis   = s->off_axis.y,
                        .shift_oct  = s->shift_oct.y};
}

bool
speaker_breakup_init(speaker_breakup* s, double rate_hz, uint32_t n_channels)
{
  s->rate_hz    = rate_hz;
  s->n_channels = n_channels;
  speaker_breakup_glides_init(s, rate_hz);
  balance_init(&s->even, rate_hz, n_channels);
  breakup_cut_init(&s->cut, rate_hz, n_channels);
  return true;
}

void
speaker_breakup_set(speaker_breakup* s, const speaker_breakup_params* p)
{
  // Unchanged settings are cheap
  const float* const values  = (const float*)(const void*)p;
  bool               is_news = false;
  for (uint32_t i = 0; i < speaker_breakup_n_params; ++i) {
    is_news     = is_news || values[i] != s->taken[i];
    s->taken[i] = values[i];
  }
  if (!is_news) {
    return;
  }

  speaker_breakup_glides_set(s, p);
  breakup_follower_set(&s->follower, (double)p->attack_ms,
                       (double)p->release_ms, s->rate_hz);
  s->wanted = (speaker_choice){
    .size        = (cone_size)lrintf(p->cone),
    .is_open     = p->back > 0.5F,
    .has_cabinet = p->cabinet > 0.5F,
    .factor      = oversample_factor((uint32_t)lrintf(p->quality), s->rate_hz)};
}

/// Returns the target of a ramp
static double
ramp_target(const speaker_breakup* s, int i)
{
  const double per_db = (double)OCTAVES_PER_DB;
  switch (i) {
    case SPEAKER_IN:
      return db_to_gain(s->drive_db.y);
    case SPEAKER_OUT:
      return db_to_gain(s->level_db.y - s->drive_db.y);
    case SPEAKER_FROM:
      return 1.0 - s->follow.y;
    case SPEAKER_OCTAVES:
      return per_db * s->breakup_db.y;
    case SPEAKER_SHARE:
      return s->mix.y;
    case SPEAKER_LOOP:
      return s->feedback.y;
    default:
      return -per_db * s->squeeze_db.y;
  }
}

/// Gains of a frame at a position between the ends that the ramps give
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
  speaker_breakup_glides_snap(s);
  for (int i = 0; i < SPEAKER_N_RAMPS; ++i) {
    ramp_snap(&s->ramps[i], ramp_target(s, i));
  }
  s->ramps_move = false;
  ramp_snap(&s->linear_ramp, s->linear.y);

  breakup_follower_reset(&s->follower);
  balance_reset(&s->even);
  const float       q = s->ramps[SPEAKER_FROM].v;
  const frame_gains g =
    gains_at(q, s->ramps[SPEAKER_OCTAVES].v, s->ramps[SPEAKER_SHARE].v,
             s->ramps[SPEAKER_SOFTER].v, s->ramps[SPEAKER_OUT].v);
  s->last[0] = g.drive;
  s->last[1] = g.dry;
  s->last[2] = g.wet;
  breakup_cut_reset(&s->cut, (double)s->ramps[SPEAKER_IN].v *
                               (double)(g.dry + g.wet * g.drive));
  s->how_hard = 0.0F;
  s->sum      = q * CONTROL_FRAMES;
  s->active   = 0;
  s->fade     = 0;

  const speaker_line line = line_at(s, q);
  speaker_start(&s->speakers[0], s->wanted, &line, s->rate_hz);
}

static uint32_t
fade_frames(const speaker_breakup* s)
{
  return (uint32_t)(FADE_S * s->rate_hz);
}

/// Starts or ends a crossfade; the next one waits for its end
static void
choose_speaker(speaker_breakup* s, const speaker_line* line)
{
  if (s->fade >= 2 * fade_frames(s)) {
    s->active = 1 - s->active;
    s->fade   = 0;
  }

  const speaker* const now = &s->speakers[s->active];
  if (s->fade == 0 && !speaker_choice_is(s->wanted, now->choice)) {
    speaker* const next = &s->speakers[1 - s->active];
    speaker_start(next, s->wanted, line, s->rate_hz);
    next->heat = now->heat;
    s->fade    = 1;
  }
}

void
speaker_breakup_control(speaker_breakup* s)
{
  s->ramps_move = speaker_breakup_glides_next(s) || s->ramps_move;
  if (s->ramps_move) {
    s->ramps_move = false;
    for (int i = 0; i < SPEAKER_N_RAMPS; ++i) {
      const bool moves = ramp_push(&s->ramps[i], ramp_target(s, i));
      s->ramps_move    = s->ramps_move || moves;
    }
  }

  (void)ramp_push(&s->linear_ramp, s->linear.y);
  breakup_cut_control(&s->cut);
  balance_control(&s->even);

  // The tone follows the mean position of the line before
  const speaker_line line = line_at(s, s->sum * (1.0F / CONTROL_FRAMES));
  s->sum                  = 0.0F;
  choose_speaker(s, &line);
  speaker_push(&s->speakers[s->active], &line);
  if (s->fade) {
    speaker_push(&s->speakers[1 - s->active], &line);
  }
}

/// Writes the values of the ramps for a block
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

/// Makes the gains of each frame; `hard` is how hard it is played
WIDE_CLONES static void
make_gains(const float (*v)[CONTROL_FRAMES],
           const float*   hard,
           speaker_moves* m,
           uint32_t       n)
{
  for (uint32_t i = 0; i < n; ++i) {
    const float from = v[SPEAKER_FROM][i];
    const float q    = from + (1.0F - from) * hard[i];

    const frame_gains g =
      gains_at(q, v[SPEAKER_OCTAVES][i], v[SPEAKER_SHARE][i],
               v[SPEAKER_SOFTER][i], v[SPEAKER_OUT][i]);
    m->drive[i + 1] = g.drive;
    m->dry[i + 1]   = g.dry;
    m->wet[i + 1]   = g.wet;
    m->feedback[i]  = v[SPEAKER_LOOP][i] * q;
    m->position[i]  = q;
    m->mix[i]       = v[SPEAKER_SHARE][i];
  }
}

static void
make_moves(speaker_breakup* s,
           const float (*v)[CONTROL_FRAMES],
           const float*   hard,
           speaker_moves* m,
           uint32_t       n)
{
  make_gains(v, hard, m, n);
  m->is_dry =
    !s->ramps_move && s->ramps[SPEAKER_SHARE].v == 0.0F && s->last[2] == 0.0F;
  m->drive[0] = s->last[0];
  m->dry[0]   = s->last[1];
  m->wet[0]   = s->last[2];
  s->last[0]  = m->drive[n];
  s->last[1]  = m->dry[n];
  s->last[2]  = m->wet[n];
  for (uint32_t i = 0; i < n; ++i) {
    s->sum += m->position[i];
  }
}

/// Crossfades from the speaker that plays, at `out`, to the other one
static void
fade_over(const speaker_breakup* s,
          const float (*other)[CONTROL_FRAMES],
          float* const* out,
          uint32_t      n)
{
  const float whole = (float)fade_frames(s);
  float       share[CONTROL_FRAMES];
  for (uint32_t i = 0; i < n; ++i) {
    const float t = clampf(((float)(s->fade + i) - whole) / whole, 0.0F, 1.0F);
    share[i]      = smoothstepf(t);
  }
  for (uint32_t k = 0; k < s->n_channels; ++k) {
    crossfade_mix(share, other[k], out[k], n);
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
  breakup_cut_listen(&s->cut, in, n);

  float        driven[MAX_CHANNELS][CONTROL_FRAMES];
  const float* from[MAX_CHANNELS] = {driven[0], driven[1]};
  for (uint32_t k = 0; k < s->n_channels; ++k) {
    for (uint32_t i = 0; i < n; ++i) {
      driven[k][i] = v[SPEAKER_IN][i] * in[k][i];
    }
  }

  float         hard[CONTROL_FRAMES];
  speaker_moves moves;
  breakup_follower_process(&s->follower, from, hard, s->n_channels, n);
  s->how_hard = hard[n - 1];
  make_moves(s, (const float(*)[CONTROL_FRAMES])v, hard, &moves, n);

  float* const driven_at[MAX_CHANNELS] = {driven[0], driven[1]};
  balance_listen(&s->even, from, n);
  balance_take(&s->even, driven_at, n);
  speaker_run(&s->speakers[s->active], &moves, from, out, s->n_channels, n);
  if (s->fade) {
    float  other[MAX_CHANNELS][CONTROL_FRAMES];
    float* to[MAX_CHANNELS] = {other[0], other[1]};
    speaker_run(&s->speakers[1 - s->active], &moves, from, to, s->n_channels,
                n);
    fade_over(s, (const float(*)[CONTROL_FRAMES])other, out, n);
    s->fade += n;
  }
  balance_give(&s->even, out, SPEAKER_LATENCY, n);
  breakup_cut_run(&s->cut, &s->linear_ramp, out, SPEAKER_LATENCY, n);
}

uint32_t
speaker_breakup_latency_frames(const speaker_breakup* s)
{
  (void)s;
  return SPEAKER_LATENCY;
}

void
speaker_breakup_meter(const speaker_breakup* s, speaker_breakup_meters* m)
{
  m->follower_pc = 100.0F * s->how_hard;
}

STAGE_DEFINE_METERED(speaker_breakup)
