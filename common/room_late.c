// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "room_late.h"

// Lengths for ROOM_VOLUME_M3, in frames of 48 kHz: logarithmic from 4.7 to
// 17 ms, mutually prime; the diffusers 7.5 ms in all, and others for the second
// source.  Our choice.
#define LAYOUT_HZ 48000.0

static const double lines[FDN_LINES] = {227, 251, 269, 293, 331, 347, 379, 419,
                                        449, 491, 541, 587, 631, 691, 751, 821};
static const double diffusers[2][ROOM_DIFFUSERS] = {
  {41, 67, 101, 149},
  {47, 61, 107, 139},
};

#define DIFFUSER_GAIN 0.5f

// The first echo of the network comes this much before the mixing time (for
// ROOM_VOLUME_M3): it then grows as room_splice() says (computed)
#define OVERLAP_S 0.004

#define DELAY_FADE_S 0.030
#define OPENING_S    0.030
#define FILL_S       0.150
#define FADE_S       0.050

// Rows of the matrix: two to hear, and the signs by which the sources enter
#define ROW_LEFT    3U
#define ROW_RIGHT   5U
#define SIGNS_LEFT  6U
#define SIGNS_RIGHT 9U

static float
sign_of(uint32_t row, uint32_t line)
{
  return __builtin_popcount(row & line) % 2 ? -1.0f : 1.0f;
}

// ---------------------------------------------------------------------------
// Lengths

static double
diffusers_s(double scale)
{
  double sum = 0.0;
  for (uint32_t i = 0; i < ROOM_DIFFUSERS; ++i) {
    sum += diffusers[0][i];
  }
  return scale * sum / LAYOUT_HZ; // Mean delay of allpasses is their lengths
}

double
room_late_delay_s(room_lengths lengths)
{
  const double scale = room_scale(lengths.volume_m3);
  const double first = scale * lengths.stretch * lines[0] / LAYOUT_HZ;
  const double start = room_mixing_s(lengths.volume_m3) - scale * OVERLAP_S;
  return fmax(start - diffusers_s(scale) - first, 0.0);
}

static float*
take(room_tail* t, uint32_t frames)
{
  float* const memory = t->memory + t->used;
  t->used += frames;
  return memory;
}

static void
lay_diffusers(room_tail* t, double rate_hz)
{
  const double scale = room_scale(t->lengths.volume_m3) * rate_hz / LAYOUT_HZ;
  for (uint32_t k = 0; k < 2; ++k) {
    for (uint32_t i = 0; i < ROOM_DIFFUSERS; ++i) {
      const uint32_t length = (uint32_t)(scale * diffusers[k][i]) + 1U;
      room_allpass*  a      = &t->diffuser[k][i];
      *a = (room_allpass){.line = take(t, length), .length = length};
      memset(a->line, 0, length * sizeof(float));
    }
  }
}

static void
lay_line(room_tail* t, uint32_t i, double rate_hz)
{
  const double   scale  = room_scale(t->lengths.volume_m3) * t->lengths.stretch;
  const uint32_t wanted = (uint32_t)(scale * lines[i] * rate_hz / LAYOUT_HZ);
  const uint32_t least  = i ? t->net.length[i - 1] + 1 : FDN_MIN_FRAMES;
  const uint32_t length = fdn_prime_from(wanted < least ? least : wanted);
  fdn_set_line(&t->net, i, take(t, length), length);
}

static void
way_of(const room_tail* t, const decay_law* law, double rate_hz, loss_lanes* l)
{
  const absorption_warp w      = absorption_warp_of(law, rate_hz);
  const double          path_s = room_late_delay_s(t->lengths) +
                        diffusers_s(room_scale(t->lengths.volume_m3));
  const absorption a = absorption_of(law, w, path_s);
  // The gain of the whole, too; two sources share the power of one
  for (uint32_t k = 0; k < 4; ++k) {
    loss_set_lane(l, k, &a, sqrt(0.5) * (double)t->gain);
  }
}

/// Loss and level of a tail whose lines are laid
static void
finish(room_tail* t, const decay_law* law, double rate_hz)
{
  // What a network of these lengths lacks to the energy law:
  // 4 pi sqrt(c sum / (4 pi V))
  const double sum_s = fdn_frames(&t->net) / rate_hz;
  const double v     = t->lengths.volume_m3;
  t->gain = (float)sqrt(4.0 * DSP_PI * SPEED_OF_SOUND_M_S * sum_s / v);

  memset(t->net.memory, 0, sizeof(t->net.memory));
  memset(&t->way_memory, 0, sizeof(t->way_memory));
  fdn_snap_decay(&t->net, law, rate_hz);
  way_of(t, law, rate_hz, &t->way_to);
  t->way        = t->way_to;
  t->way_moving = false;
}

static void
push_decay(room_tail* t, const decay_law* law, double rate_hz)
{
  fdn_push_decay(&t->net, law);
  t->way = t->way_to;
  way_of(t, law, rate_hz, &t->way_to);
  t->way_moving = loss_step_between(&t->way, &t->way_to, &t->way_step);
}

// ---------------------------------------------------------------------------
// Verbs

void
room_late_init(room_late* l, double rate_hz)
{
  l->rate_hz     = rate_hz;
  l->glide_share = glide_share(rate_hz);
}

void
room_late_set(room_late* l, room_lengths lengths, double delay_s)
{
  l->wanted       = lengths;
  l->delay_wanted = (uint32_t)(delay_s * l->rate_hz + 0.5);
}

void
room_late_set_spacing(room_late* l, double spacing_m)
{
  // Where 1 - sin(kd) / (kd), nearly (kd)^2 / 6, begins to matter
  const double f_hz =
    sqrt(6.0) * SPEED_OF_SOUND_M_S / (2.0 * DSP_PI * spacing_m);
  glide_set(&l->coherence, log2(f_hz));
}

static double
pole_of(const room_late* l)
{
  const double f_hz = fmin(exp2(l->coherence.y), 0.4 * l->rate_hz);
  const double g    = tan(DSP_PI * f_hz / l->rate_hz);
  return g / (1.0 + g);
}

void
room_late_reset(room_late* l, const decay_law* law)
{
  l->active = 0;
  l->state  = TAIL_STEADY;
  crossfade_stop(&l->opening);
  crossfade_stop(&l->fade);

  room_tail* const t = &l->tail[0];
  t->lengths         = l->wanted;
  t->used            = 0;
  lay_diffusers(t, l->rate_hz);
  for (uint32_t i = 0; i < FDN_LINES; ++i) {
    lay_line(t, i, l->rate_hz);
  }
  l->law = *law;
  finish(t, law, l->rate_hz);

  l->delay = l->delay_to = l->delay_wanted;
  crossfade_stop(&l->delay_fade);
  glide_snap(&l->coherence);
  ramp_snap(&l->pole, pole_of(l));
  l->common = (f32x4){0};
}

static bool
same_lengths(const room_lengths* a, const room_lengths* b)
{
  return a->volume_m3 == b->volume_m3 && a->stretch == b->stretch;
}

/// One step of building
static void
build(room_late* l, room_tail* t)
{
  if (l->step == 0) {
    t->lengths = l->wanted;
    t->used    = 0;
    lay_diffusers(t, l->rate_hz);
  } else {
    lay_line(t, l->step - 1, l->rate_hz);
  }
  if (++l->step > FDN_LINES) {
    finish(t, &l->law, l->rate_hz);
    l->state = TAIL_FILLING;
    l->step  = 0;
    crossfade_start(&l->opening, OPENING_S, l->rate_hz);
  }
}

static void
control_tails(room_late* l)
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
      build(l, other);
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

static void
control_delay(room_late* l)
{
  if (crossfade_done(&l->delay_fade)) {
    crossfade_stop(&l->delay_fade);
    l->delay = l->delay_to;
  } else if (!crossfade_runs(&l->delay_fade) && l->delay_wanted != l->delay) {
    l->delay_to = l->delay_wanted;
    crossfade_start(&l->delay_fade, DELAY_FADE_S, l->rate_hz);
  }
}

void
room_late_control(room_late* l)
{
  control_tails(l);
  control_delay(l);
  if (l->coherence.moving || l->pole.moving) {
    glide_next(&l->coherence, l->glide_share);
    ramp_push(&l->pole, pole_of(l));
  }
}

void
room_late_push_decay(room_late* l, const decay_law* law)
{
  l->law = *law;
  push_decay(&l->tail[l->active], law, l->rate_hz);
  if (l->state == TAIL_FILLING || l->state == TAIL_FADING) {
    push_decay(&l->tail[1 - l->active], law, l->rate_hz);
  }
}

// ---------------------------------------------------------------------------
// Sound

typedef float pair[2][CONTROL_FRAMES];

static inline void
diffuse(room_allpass* a, float* x, uint32_t n)
{
  const float g = DIFFUSER_GAIN;
  while (n) {
    float* restrict line = a->line + a->at;
    const uint32_t left  = a->length - a->at;
    const uint32_t m     = n < left ? n : left;
    for (uint32_t i = 0; i < m; ++i) {
      const float late = line[i];
      const float v    = x[i] + g * late;
      line[i]          = v;
      x[i]             = late - g * v;
    }
    a->at = m < left ? a->at + m : 0;
    x += m;
    n -= m;
  }
}

static inline __attribute__((always_inline)) void
lose_way(room_tail* t, pair x, uint32_t n, bool moving)
{
  loss_lanes  way    = t->way;
  loss_memory memory = t->way_memory;
  for (uint32_t i = 0; i < n; ++i) {
    const f32x4 y =
      loss_next(&way, &memory, (f32x4){x[0][i], x[1][i], 0.0f, 0.0f});
    x[0][i] = y[0];
    x[1][i] = y[1];
    if (moving) {
      loss_step(&way, &t->way_step);
    }
  }
  t->way        = way;
  t->way_memory = memory;
}

/// Both sources into all lines, each with a row of the matrix as signs
static void
spread(pair x, fdn_block to, uint32_t n)
{
  for (uint32_t i = 0; i < FDN_LINES; ++i) {
    const float left  = 0.25f * sign_of(SIGNS_LEFT, i);
    const float right = 0.25f * sign_of(SIGNS_RIGHT, i);
    for (uint32_t t = 0; t < n; ++t) {
      to[i][t] = left * x[0][t] + right * x[1][t];
    }
  }
}

static void
run_tail(room_tail* t, pair in, pair out, uint32_t n)
{
  pair x;
  memcpy(x, in, sizeof(x));
  for (uint32_t k = 0; k < 2; ++k) {
    for (uint32_t i = 0; i < ROOM_DIFFUSERS; ++i) {
      diffuse(&t->diffuser[k][i], x[k], n);
    }
  }
  if (t->way_moving) {
    lose_way(t, x, n, true);
  } else {
    lose_way(t, x, n, false);
  }

  fdn_block feed;
  fdn_block rows;
  spread(x, feed, n);
  fdn_process(&t->net, feed, rows, n);
  memcpy(out[0], rows[ROW_LEFT], sizeof(rows[0]));
  memcpy(out[1], rows[ROW_RIGHT], sizeof(rows[0]));
}

static void
read_sources(room_late* l, const history* source, pair x, uint32_t n)
{
  float      share[CONTROL_FRAMES];
  const bool fades = crossfade_runs(&l->delay_fade);
  if (fades) {
    crossfade_shares(&l->delay_fade, share, n);
  }
  for (uint32_t k = 0; k < 2; ++k) {
    const float* const past = history_at(&source[k], l->delay);
    for (uint32_t i = 0; i < n; ++i) {
      x[k][i] = past[i];
    }
    if (fades) {
      crossfade_mix(share, history_at(&source[k], l->delay_to), x[k], n);
    }
  }
}

/// Sum and difference of two incoherent signals: below the pole the sum gains
/// 3 dB and the difference fades, so that both outputs become one
static void
cohere(room_late* l, pair x, float* const* out, uint32_t n)
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

/// What a new network hears
static void
open_sources(room_late* l, pair x, uint32_t n)
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
room_late_process(room_late*     l,
                  const history* source,
                  float* const*  out,
                  uint32_t       n)
{
  pair in;
  pair now;
  read_sources(l, source, in, n);
  run_tail(&l->tail[l->active], in, now, n);
  if (l->state == TAIL_FILLING || l->state == TAIL_FADING) {
    pair fresh;
    open_sources(l, in, n);
    run_tail(&l->tail[1 - l->active], in, fresh, n);
    if (l->state == TAIL_FADING) {
      float share[CONTROL_FRAMES];
      crossfade_shares(&l->fade, share, n);
      crossfade_mix(share, fresh[0], now[0], n);
      crossfade_mix(share, fresh[1], now[1], n);
    }
  }
  cohere(l, now, out, n);
}
