// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "room_late.h"

#include "common/core/air.h"

#define DELAY_FADE_S 0.030
#define OPENING_S    0.030
#define FILL_S       0.150
#define FADE_S       0.050

/// Steps of building, after the lines; costly ones not in the same short block
enum { FIT_STEP = FDN_LINES + 1, FINISH_STEP = FIT_STEP + 2 };

// ---------------------------------------------------------------------------
// Verbs

void
room_late_init(room_late* l, double rate_hz)
{
  l->rate_hz     = rate_hz;
  l->glide_share = glide_share(rate_hz);
  fading_delay_init(&l->delay, ROOM_PAST_FRAMES, DELAY_FADE_S, rate_hz);
}

void
room_late_set(room_late* l, room_lengths lengths, double delay_s)
{
  l->wanted = lengths;
  fading_delay_set(&l->delay, (uint32_t)(delay_s * l->rate_hz + 0.5));
}

void
room_late_set_spacing(room_late* l, double spacing_m)
{
  // Where 1 - sin(kd) / (kd), nearly (kd)^2 / 6, begins to matter
  const double f_hz =
    sqrt(6.0) * SPEED_OF_SOUND_M_S / (2.0 * DSP_PI * spacing_m);
  glide_set(&l->coherence, steady_log2(f_hz));
}

static double
pole_of(const room_late* l)
{
  const double f_hz = fmin(steady_exp2(l->coherence.y), 0.4 * l->rate_hz);
  const double g    = steady_tan(DSP_PI * f_hz / l->rate_hz);
  return g / (1.0 + g);
}

void
room_late_reset(room_late* l, const decay_law* law)
{
  memset(l->tail[0].memory, 0, room_tail_size(&l->tail[0]));
  room_late_restart(l, law);
}

static bool
same_lengths(const room_lengths* a, const room_lengths* b)
{
  return a->volume_m3 == b->volume_m3 && a->stretch == b->stretch;
}

/// Lays out the empty network anew
static void
lay_out(room_tail* t, room_lengths lengths, double rate_hz)
{
  t->lengths  = lengths;
  t->used     = 0;
  t->is_empty = true;
  room_tail_lay_diffusers(t, rate_hz);
  for (uint32_t i = 0; i < FDN_LINES; ++i) {
    room_tail_lay_line(t, i, rate_hz);
  }
  t->is_empty = false;
}

void
room_late_restart(room_late* l, const decay_law* law)
{
  // What needs no change is kept: this may be in a block that is heard
  room_tail* const t = &l->tail[0];
  const bool keeps   = l->active == 0 && same_lengths(&l->wanted, &t->lengths);
  if (keeps) {
    room_tail_restart(t);
  } else {
    lay_out(t, l->wanted, l->rate_hz);
  }
  if (!keeps || !room_tail_rests(t, law)) {
    room_tail_fit(t, law, l->rate_hz);
    room_tail_finish(t, l->rate_hz);
  }

  l->law    = *law;
  l->active = 0;
  l->state  = TAIL_STEADY;
  crossfade_stop(&l->opening);
  crossfade_stop(&l->fade);
  fading_delay_reset(&l->delay);
  glide_snap(&l->coherence);
  ramp_snap(&l->pole, pole_of(l));
  l->common = (f32x4){0};
}

/// Takes one step of building, the last one only when `free`
static void
build(room_late* l, room_tail* t, bool free)
{
  if (l->step == FINISH_STEP && !free) {
    return;
  }
  if (l->step == 0) {
    t->lengths = l->wanted;
    t->used    = 0;
    room_tail_lay_diffusers(t, l->rate_hz);
  } else if (l->step <= FDN_LINES) {
    room_tail_lay_line(t, l->step - 1, l->rate_hz);
  } else if (l->step == FIT_STEP) {
    room_tail_fit(t, &l->law, l->rate_hz);
  }
  if (l->step++ == FINISH_STEP) {
    room_tail_finish(t, l->rate_hz);
    l->state = TAIL_FILLING;
    l->step  = 0;
    crossfade_start(&l->opening, OPENING_S, l->rate_hz);
  }
}

static void
control_tails(room_late* l, bool free)
{
  room_tail* const other = &l->tail[1 - l->active];
  switch (l->state) {
    case TAIL_STEADY:
      if (!same_lengths(&l->wanted, &l->tail[l->active].lengths)) {
        l->state = TAIL_BUILDING;
        l->step  = 0;
      }
      break;
    case TAIL_BUILDING:
      build(l, other, free);
      break;
    case TAIL_FILLING:
      if (crossfade_done(&l->opening)) {
        crossfade_stop(&l->opening);
      }
      if (++l->step * CONTROL_FRAMES >= FILL_S * l->rate_hz) {
        l->state = TAIL_FADING;
        crossfade_start(&l->fade, FADE_S, l->rate_hz);
      }
      break;
    case TAIL_FADING:
      if (crossfade_done(&l->fade)) {
        crossfade_stop(&l->fade);
        l->active = 1 - l->active;
        l->state  = TAIL_STEADY;
      }
      break;
  }
}

void
room_late_control(room_late* l, bool free)
{
  control_tails(l, free);
  if (!fading_delay_end(&l->delay)) {
    fading_delay_begin(&l->delay);
  }
  if (l->coherence.moving || l->pole.moving) {
    glide_next(&l->coherence, l->glide_share);
    ramp_push(&l->pole, pole_of(l));
  }
}

void
room_late_aim(room_late* l, const decay_law* law)
{
  l->law = *law;
}

static bool
is_used(const room_late* l, uint32_t tail)
{
  return tail == l->active || room_late_is_double(l);
}

void
room_late_push_decay(room_late* l, uint32_t turn)
{
  const uint32_t   k = turn / 4;
  room_tail* const t = &l->tail[k % 2];
  if (k >= 2 || !is_used(l, k)) {
    return;
  }
  if (turn % 4 == 0) {
    room_tail_fit(t, &l->law, l->rate_hz);
  } else if (turn % 4 == 2) {
    room_tail_move(t);
  }
}

bool
room_late_rests(const room_late* l)
{
  return (!is_used(l, 0) || room_tail_rests(&l->tail[0], &l->law)) &&
         (!is_used(l, 1) || room_tail_rests(&l->tail[1], &l->law));
}

// ---------------------------------------------------------------------------
// Sound

/// Filters sum and difference of two incoherent signals: below the pole the sum
/// gains 3 dB and the difference fades, so that both outputs become one
static void
cohere(room_late* l, room_pair x, float* const* out, uint32_t n)
{
  float pole[CONTROL_FRAMES];
  ramp_values(&l->pole, pole, n);

  const f32x4 shelf = {0.41421356f, -1.0f, 0.0f, 0.0f}; // sqrt(2) - 1
  f32x4       z     = l->common;
  for (uint32_t i = 0; i < n; ++i) {
    const f32x4 v   = {x[0][i] + x[1][i], x[0][i] - x[1][i], 0.0f, 0.0f};
    const f32x4 w   = (v - z) * pole[i];
    const f32x4 low = w + z;
    z               = low + w;
    const f32x4 y   = 0.5f * (v + shelf * low);
    out[0][i]       = y[0] + y[1];
    out[1][i]       = y[0] - y[1];
  }
  l->common = z;
}

/// Fades in the input of a new network
static void
open_sources(room_late* l, room_pair x, uint32_t n)
{
  if (crossfade_runs(&l->opening)) {
    float share[CONTROL_FRAMES];
    crossfade_shares(&l->opening, share, n);
    for (uint32_t i = 0; i < n; ++i) {
      x[0][i] *= share[i];
      x[1][i] *= share[i];
    }
  }
}

void
room_late_process(room_late*      l,
                  const tap_line* source,
                  float* const*   out,
                  uint32_t        n)
{
  room_pair    in;
  room_pair    now;
  float* const at[] = {in[0], in[1]};
  fading_delay_read(&l->delay, source, at, n);
  room_tail_run(&l->tail[l->active], in, now, n);
  if (room_late_is_double(l)) {
    room_pair fresh;
    open_sources(l, in, n);
    room_tail_run(&l->tail[1 - l->active], in, fresh, n);
    if (l->state == TAIL_FADING) {
      float share[CONTROL_FRAMES];
      crossfade_shares(&l->fade, share, n);
      crossfade_mix(share, fresh[0], now[0], n);
      crossfade_mix(share, fresh[1], now[1], n);
    }
  }
  cohere(l, now, out, n);
}
