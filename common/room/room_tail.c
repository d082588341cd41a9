// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "room_tail.h"

#include "common/core/air.h"

#include <string.h>

// Lengths for ROOM_VOLUME_M3, in frames of 48 kHz: logarithmic from 4.7 to
// 17 ms, mutually prime; the diffusers 7.5 ms in all, and others for the second
// source.  Our choice.
#define LAYOUT_HZ 48000.0

#define LINES_SHORT(X)     X(227) X(251) X(269) X(293) X(331) X(347)
#define LINES_MIDDLE(X)    X(379) X(419) X(449) X(491) X(541)
#define LINES_LONG(X)      X(587) X(631) X(691) X(751) X(821)
#define LINES(X)           LINES_SHORT(X) LINES_MIDDLE(X) LINES_LONG(X)
#define DIFFUSERS_LEFT(X)  X(41) X(67) X(101) X(149)
#define DIFFUSERS_RIGHT(X) X(47) X(61) X(107) X(139)

// With its comma, and a term of a sum
// NOLINTBEGIN(bugprone-macro-parentheses)
#define ITEM(n) n,
#define PLUS(n) +(n)
// NOLINTEND(bugprone-macro-parentheses)

static const double lines[FDN_LINES] = {LINES(ITEM)};

static const double diffusers[2][ROOM_DIFFUSERS] = {
  {DIFFUSERS_LEFT(ITEM)},
  {DIFFUSERS_RIGHT(ITEM)},
};

// At most, with the step to the next prime of each line and to whole frames
#define MOST_PER_FRAME ((uint32_t)DSP_MAX_RATE_HZ / (uint32_t)LAYOUT_HZ)
#define MOST_LINES                                              \
  ((0 LINES(PLUS)) * MOST_PER_FRAME * ROOM_MAX_SCALE_PC / 100 * \
     ROOM_MAX_STRETCH_PC / 100 +                                \
   FDN_LINES * FDN_PRIME_GAP)
#define MOST_DIFFUSERS                                               \
  ((0 DIFFUSERS_LEFT(PLUS) DIFFUSERS_RIGHT(PLUS)) * MOST_PER_FRAME * \
     ROOM_MAX_SCALE_PC / 100 +                                       \
   2 * ROOM_DIFFUSERS)

_Static_assert(MOST_LINES + MOST_DIFFUSERS <= ROOM_LATE_FRAMES,
               "The largest room at the highest rate");

#define DIFFUSER_GAIN 0.5f

// The first echo of the network comes this much before the mixing time (for
// ROOM_VOLUME_M3): it then grows as room_splice() says (computed)
#define OVERLAP_S 0.004

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
room_tail_delay_s(room_lengths lengths)
{
  const double scale = room_scale(lengths.volume_m3);
  const double first = scale * lengths.stretch * lines[0] / LAYOUT_HZ;
  const double start = room_mixing_s(lengths.volume_m3) - scale * OVERLAP_S;
  return fmax(start - diffusers_s(scale) - first, 0.0);
}

/// Takes memory, cleared
static float*
take(room_tail* t, uint32_t frames)
{
  float* const memory = t->memory + t->used;
  t->used += frames;
  t->most = t->used > t->most ? t->used : t->most;
  if (!t->is_empty) {
    memset(memory, 0, frames * sizeof(float));
  }
  return memory;
}

/// Scale and stretch as far as there is memory for them
static double
scale_of(room_lengths lengths)
{
  return fmin(room_scale(lengths.volume_m3), 0.01 * ROOM_MAX_SCALE_PC);
}

static double
stretch_of(room_lengths lengths)
{
  return fmin(lengths.stretch, 0.01 * ROOM_MAX_STRETCH_PC);
}

void
room_tail_lay_diffusers(room_tail* t, double rate_hz)
{
  const double scale = scale_of(t->lengths) * rate_hz / LAYOUT_HZ;
  for (uint32_t k = 0; k < 2; ++k) {
    for (uint32_t i = 0; i < ROOM_DIFFUSERS; ++i) {
      const uint32_t length = (uint32_t)(scale * diffusers[k][i]) + 1U;
      room_allpass*  a      = &t->diffuser[k][i];
      *a = (room_allpass){.line = take(t, length), .length = length};
    }
  }
}

void
room_tail_lay_line(room_tail* t, uint32_t i, double rate_hz)
{
  const double   scale  = scale_of(t->lengths) * stretch_of(t->lengths);
  const uint32_t wanted = (uint32_t)(scale * lines[i] * rate_hz / LAYOUT_HZ);
  const uint32_t least  = i ? t->net.length[i - 1] + 1 : FDN_MIN_FRAMES;
  const uint32_t length = fdn_prime_from(wanted < least ? least : wanted);
  fdn_set_line(&t->net, i, take(t, length), length);
}

static void
way_of(const room_tail* t, const decay_law* law, loss_lanes* l)
{
  // About as long as the longest line
  const double path_s = room_tail_delay_s(t->lengths) +
                        diffusers_s(room_scale(t->lengths.volume_m3));
  const absorption a = absorption_of(law, &t->net.fit, path_s);
  // The gain of the whole, too; two sources share the power of one
  for (uint32_t k = 0; k < 4; ++k) {
    loss_set_lane(l, k, &a, sqrt(0.5) * (double)t->gain);
  }
}

void
room_tail_fit(room_tail* t, const decay_law* law, double rate_hz)
{
  t->law         = *law;
  t->waits       = true;
  t->net.rate_hz = rate_hz;
  fdn_fit_decay(&t->net, law);
}

void
room_tail_restart(room_tail* t)
{
  for (uint32_t i = 0; i < 2 * ROOM_DIFFUSERS; ++i) {
    t->diffuser[i / ROOM_DIFFUSERS][i % ROOM_DIFFUSERS].at = 0;
  }
  fdn_restart(&t->net);
  memset(&t->way_memory, 0, sizeof(t->way_memory));
}

void
room_tail_finish(room_tail* t, double rate_hz)
{
  // Gain that a network of these lengths lacks to meet the energy law:
  // 4 pi sqrt(c sum / (4 pi V))
  const double sum_s = fdn_frames(&t->net) / rate_hz;
  const double v     = t->lengths.volume_m3;
  t->gain = (float)sqrt(4.0 * DSP_PI * SPEED_OF_SOUND_M_S * sum_s / v);

  room_tail_restart(t);
  t->waits = false;
  fdn_snap_fitted(&t->net, &t->law);
  way_of(t, &t->law, &t->way_to);
  t->way        = t->way_to;
  t->way_moving = false;
}

void
room_tail_move(room_tail* t)
{
  t->waits = false;
  fdn_move_decay(&t->net, &t->law, ROOM_LAW_LINES);
  t->way = t->way_to;
  way_of(t, &t->law, &t->way_to);
  t->way_moving = loss_step_between(
    &t->way, &t->way_to, ROOM_LAW_LINES * CONTROL_FRAMES, &t->way_step);
}

bool
room_tail_rests(const room_tail* t, const decay_law* law)
{
  return !t->waits && !t->net.moving && !t->way_moving &&
         decay_law_equal(&t->law, law);
}

// ---------------------------------------------------------------------------
// Sound

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
lose_way(room_tail* t, room_pair x, uint32_t n, bool moving)
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

/// Feeds both sources into all lines, each with a row of the matrix as signs
static void
spread(room_pair x, fdn_block to, uint32_t n)
{
  for (uint32_t i = 0; i < FDN_LINES; ++i) {
    const float left  = 0.25f * sign_of(SIGNS_LEFT, i);
    const float right = 0.25f * sign_of(SIGNS_RIGHT, i);
    for (uint32_t t = 0; t < n; ++t) {
      to[i][t] = left * x[0][t] + right * x[1][t];
    }
  }
}

void
room_tail_run(room_tail* t, room_pair in, room_pair out, uint32_t n)
{
  room_pair x;
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
