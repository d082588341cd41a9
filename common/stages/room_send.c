// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "room_send.h"

#include "common/core/air.h"

PARAMS_DEFINE(room_send, ROOM_SEND_PARAMS)

#define LAW_TAU_S 0.020

// Longer lines where long decays need more modes; our choice
static const double stretch_of[] = {1.0, 1.0, 1.5};

/// Returns 0 at the lowest setting, which is off
static double
gain_of_wet(double db)
{
  return db > -60.0 ? db_to_gain(db) : 0.0;
}

static decay_law
law_of(const room_send_params* p)
{
  return room_decay((room_kind)p->room);
}

static room_layout
layout_of(const room_send_params* p)
{
  return room_layout_of((double)p->volume_m3, (double)p->distance_m,
                        (double)p->spacing_m);
}

GLIDES_DEFINE(room_send, ROOM_SEND_GLIDES)

bool
room_send_init(room_send* s, double rate_hz, uint32_t n_channels)
{
  (void)n_channels; // A send always has two
  s->rate_hz = rate_hz;
  room_send_glides_init(s, rate_hz);
  for (uint32_t k = 0; k < 2; ++k) {
    tap_line_init(&s->past[k], s->line[k], ROOM_PAST_FRAMES);
  }
  room_early_init(&s->early, rate_hz);
  room_late_init(&s->late, rate_hz);
  return true;
}

static void
set_room(room_send* s, const room_send_params* p)
{
  const double volume     = (double)p->volume_m3;
  const double predelay_s = 1e-3 * (double)p->predelay_ms;
  room_early_set(&s->early, (room_place){.volume_m3  = volume,
                                         .distance_m = (double)p->distance_m,
                                         .spacing_m  = (double)p->spacing_m,
                                         .predelay_s = predelay_s});

  // Time counts from the direct sound
  const room_lengths lengths  = {volume, stretch_of[(int)p->room]};
  const double       direct_s = layout_of(p).distance_m / SPEED_OF_SOUND_M_S;
  room_late_set(&s->late, lengths,
                predelay_s + fmax(room_tail_delay_s(lengths) - direct_s, 0.0));
  room_late_set_spacing(&s->late, (double)p->spacing_m);
}

void
room_send_set(room_send* s, const room_send_params* p)
{
  set_room(s, p);
  room_send_glides_set(s, p);
}

static decay_law
law_now(const room_send* s)
{
  const decay_law law = {.low_s   = steady_exp2(s->low_s.y),
                         .mid_s   = steady_exp2(s->mid_s.y),
                         .high_s  = steady_exp2(s->high_s.y),
                         .low_hz  = steady_exp2(s->low_hz.y),
                         .high_hz = steady_exp2(s->high_hz.y)};
  return room_stretch(law, room_scale(steady_exp2(s->volume.y)) *
                             steady_exp2(s->decay.y));
}

static biquad
low_cut_now(const room_send* s)
{
  return eq_high_pass(steady_exp2(s->low_cut.y), sqrt(0.5), s->rate_hz);
}

static biquad
high_cut_now(const room_send* s)
{
  return eq_low_pass(steady_exp2(s->high_cut.y), sqrt(0.5), s->rate_hz);
}

static double
early_now(const room_send* s)
{
  return s->wet.y * db_to_gain(s->early_db.y);
}

static double
late_now(const room_send* s)
{
  return s->wet.y * db_to_gain(s->late_db.y) * steady_exp2(s->distance.y);
}

void
room_send_reset(room_send* s)
{
  room_send_glides_snap(s);

  const decay_law law = law_now(s);
  s->law_moving       = false;
  s->law_turn         = 0;
  room_early_reset(&s->early, &law);
  room_late_restart(&s->late, &law);

  svf_reset(&s->cut[0]);
  svf_reset(&s->cut[1]);
  svf_snap(&s->cut[0], low_cut_now(s));
  svf_snap(&s->cut[1], high_cut_now(s));
  tap_line_restart(&s->past[0]);
  tap_line_restart(&s->past[1]);

  ramp_snap(&s->early_gain, early_now(s));
  ramp_snap(&s->late_gain, late_now(s));
  ramp_snap(&s->dry_gain, s->dry.y);
}

/// Sends the present law to everything that decays, a part on every second line
static void
push_law(room_send* s)
{
  if (s->law_turn == 0) {
    if (!s->law_moving && !s->early.wall_moving && room_late_rests(&s->late)) {
      return;
    }
    s->law_moving    = false;
    s->law           = law_now(s);
    s->law_volume_m3 = steady_exp2(s->volume.y);
    room_late_aim(&s->late, &s->law);
  }
  room_late_push_decay(&s->late, s->law_turn);
  if (s->law_turn == ROOM_LAW_LINES - 2) {
    room_early_push_decay(&s->early, &s->law, s->law_volume_m3, ROOM_LAW_LINES);
  }
  s->law_turn = (s->law_turn + 1) % ROOM_LAW_LINES;
}

static bool
law_moves(const room_send* s)
{
  return s->low_s.moving || s->mid_s.moving || s->high_s.moving ||
         s->low_hz.moving || s->high_hz.moving || s->volume.moving ||
         s->decay.moving;
}

void
room_send_control(room_send* s)
{
  // Not both at once: each does all its work twice for a while
  room_early_control(&s->early, !room_late_is_double(&s->late));
  room_late_control(&s->late, room_early_stands(&s->early));

  const bool low_cut  = s->low_cut.moving || s->cut[0].moving;
  const bool high_cut = s->high_cut.moving || s->cut[1].moving;
  s->law_moving       = s->law_moving || law_moves(s);
  (void)room_send_glides_next(s);
  push_law(s);
  if (low_cut) {
    svf_push(&s->cut[0], low_cut_now(s));
  }
  if (high_cut) {
    svf_push(&s->cut[1], high_cut_now(s));
  }
  ramp_push(&s->early_gain, early_now(s));
  ramp_push(&s->late_gain, late_now(s));
  ramp_push(&s->dry_gain, s->dry.y);
}

/// out = dry * in + early * early + late * late; exact at rest
static void
mix(room_send*          s,
    const float* const* in,
    float* const*       early,
    float* const*       late,
    float* const*       out,
    uint32_t            n)
{
  float early_gain[CONTROL_FRAMES];
  float late_gain[CONTROL_FRAMES];
  float dry_gain[CONTROL_FRAMES];
  ramp_values(&s->early_gain, early_gain, n);
  ramp_values(&s->late_gain, late_gain, n);
  ramp_values(&s->dry_gain, dry_gain, n);
  for (uint32_t k = 0; k < 2; ++k) {
    for (uint32_t i = 0; i < n; ++i) {
      out[k][i] = dry_gain[i] * in[k][i] +
                  (early_gain[i] * early[k][i] + late_gain[i] * late[k][i]);
    }
  }
}

void
room_send_process(room_send*          s,
                  const float* const* in,
                  float* const*       out,
                  uint32_t            n)
{
  float        sent[2][CONTROL_FRAMES];
  float        early[2][CONTROL_FRAMES];
  float        late[2][CONTROL_FRAMES];
  float* const sent_at[]  = {sent[0], sent[1]};
  float* const early_at[] = {early[0], early[1]};
  float* const late_at[]  = {late[0], late[1]};

  svf_cascade(s->cut, 2, in, sent_at, 2, n);
  for (uint32_t k = 0; k < 2; ++k) {
    tap_line_push(&s->past[k], sent[k], n);
  }
  room_early_process(&s->early, s->past, early_at, n);
  room_late_process(&s->late, s->past, late_at, n);
  mix(s, in, early_at, late_at, out, n);
}

uint32_t
room_send_latency_frames(const room_send* s)
{
  (void)s;
  return 0;
}

static bool
memory(void* state, uint32_t i, memory_part* part) NONBLOCKING
{
  room_send* const s = state;
  if (i < 2) {
    *part = (memory_part){s->line[i], tap_line_size(&s->past[i])};
  } else {
    room_tail* const t = &s->late.tail[0];
    *part              = (memory_part){t->memory, room_tail_size(t)};
  }
  return i < 3;
}

STAGE_DEFINE_WITH(room_send, .memory = memory)
