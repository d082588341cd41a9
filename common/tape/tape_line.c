// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "tape_line.h"

#include "common/core/fastmath.h"

#include <string.h>

#define MASK (TAPE_SIZE - 1U)

// Highest rate on the tape
#define TAPE_MOST_HZ 100000.0

// A larger step fades instead of gliding
#define GLIDE_MOST_S 0.002
#define GLIDE_S      0.100
#define FADE_S       0.020

double
tape_line_least(const tape_line* t)
{
  // A block is read before it is written, and the sinc reaches ahead; a little
  // more for flutter
  return CONTROL_FRAMES + (double)t->stride * (SINC_BEHIND + 2);
}

double
tape_line_most(const tape_line* t)
{
  return (double)t->stride * (TAPE_SIZE - 4 * SINC_TAPS);
}

double
tape_line_rate_hz(const tape_line* t)
{
  return t->rate_hz / t->stride;
}

void
tape_line_init(tape_line* t, double rate_hz, uint32_t n_channels)
{
  t->rate_hz     = rate_hz;
  t->glide_share = glide_share(rate_hz);
  t->n_channels  = n_channels;
  t->stride      = 1;
  while (rate_hz / t->stride > TAPE_MOST_HZ) {
    t->stride *= 2;
  }
  t->table = sinc_table();
  flutter_init(&t->transport, rate_hz);
}

void
tape_line_set(tape_line* t, double delay_frames, double flutter_pc)
{
  t->wanted = clampd(delay_frames, tape_line_least(t), tape_line_most(t));
  glide_set(&t->amount, flutter_pc);
}

// ---------------------------------------------------------------------------
// Heads

/// Returns the delay with flutter
static double
place(const tape_line* t, const tape_head* h, double nominal)
{
  const double late = flutter_late_s(&t->transport, &h->lag);
  return clampd(nominal + t->amount.y * late * t->rate_hz, tape_line_least(t),
                tape_line_most(t));
}

static void
put_head(const tape_line* t, tape_head* h, double delay)
{
  *h = (tape_head){.from = delay, .to = delay};
  flutter_lag_of(&t->transport, delay / t->rate_hz, &h->lag);
  h->p0 = h->p1 = h->way.v = place(t, h, delay);
}

/// Does as ramp_push(), but in double
static void
push_head(tape_head* h, double p)
{
  h->way = ramp_spline_of(h->p0, h->p1, p, 1);
  h->p0  = h->p1;
  h->p1  = p;
}

static void
control_head(const tape_line* t, tape_head* h)
{
  double nominal = h->to;
  if (h->moving) {
    const double x = ++h->line * CONTROL_FRAMES / (GLIDE_S * t->rate_hz);
    if (x < 1.0) {
      nominal = h->from + (h->to - h->from) * x * x * (3.0 - 2.0 * x);
    } else {
      h->moving = false;
    }
    flutter_lag_of(&t->transport, nominal / t->rate_hz, &h->lag);
  }
  push_head(h, place(t, h, nominal));
}

/// Starts the move asked for
static void
start_move(tape_line* t)
{
  tape_head* const h = &t->head[t->active];
  if (fabs(t->wanted - h->to) < GLIDE_MOST_S * t->rate_hz) {
    h->from   = h->to;
    h->to     = t->wanted;
    h->line   = 0;
    h->moving = true;
  } else {
    put_head(t, &t->head[1 - t->active], t->wanted);
    crossfade_start(&t->fade, FADE_S, t->rate_hz);
  }
}

void
tape_line_reset(tape_line* t)
{
  memset(t->tape, 0, tape_line_size(t));
  tape_line_restart(t);
}

void
tape_line_restart(tape_line* t)
{
  t->next   = 0;
  t->phase  = 0;
  t->active = 0;
  flutter_reset(&t->transport);
  glide_snap(&t->amount);
  crossfade_stop(&t->fade);
  put_head(t, &t->head[0], t->wanted);
}

void
tape_line_control(tape_line* t)
{
  flutter_control(&t->transport);
  glide_next(&t->amount, t->glide_share);
  if (crossfade_done(&t->fade)) {
    crossfade_stop(&t->fade);
    t->active = 1 - t->active;
  }
  if (!crossfade_runs(&t->fade) && !t->head[t->active].moving &&
      t->wanted != t->head[t->active].to) {
    start_move(t);
  }
  control_head(t, &t->head[t->active]);
  if (crossfade_runs(&t->fade)) {
    control_head(t, &t->head[1 - t->active]);
  }
}

// ---------------------------------------------------------------------------
// Sound

/// A head within a block
typedef struct {
  double      per_frame; ///< Samples on the tape
  uint32_t    now;
  ramp_spline way;
} head_run;

/// Reads `m` frames, whose sums are added up together; `m` and `n_channels` are
/// known to the compiler
static inline __attribute__((always_inline)) void
read_few(const tape_line* t,
         head_run*        r,
         float* const*    out,
         uint32_t         n_channels,
         uint32_t         i,
         uint32_t         m)
{
  f32x4 read[MAX_CHANNELS][4];
  for (uint32_t j = 0; j < m; ++j) {
    // Above 0 before truncation: TAPE_SIZE is a whole turn
    const double at =
      (t->phase + i + j - r->way.v) * r->per_frame + (double)TAPE_SIZE;
    const int32_t      whole   = (int32_t)at;
    const sinc_weights weights = sinc_weights_at(t->table, at - whole);
    const uint32_t     first = (r->now + (uint32_t)whole - SINC_BEFORE) & MASK;
    for (uint32_t k = 0; k < n_channels; ++k) {
      read[k][j] = sinc_read(&weights, t->tape[k] + first);
    }
    r->way.v += r->way.d;
    r->way.d += r->way.dd;
  }
  for (uint32_t k = 0; k < n_channels; ++k) {
    for (uint32_t j = m; j < 4; ++j) {
      read[k][j] = read[k][0];
    }
    const f32x4 y = sinc_add_up(read[k]);
    memcpy(out[k] + i, &y, m * sizeof(float));
  }
}

static inline __attribute__((always_inline)) void
read_head_of(const tape_line* t,
             tape_head*       h,
             float* const*    out,
             uint32_t         n_channels,
             uint32_t         n)
{
  head_run r = {.per_frame = 1.0 / t->stride,
                .now       = t->next - (t->phase ? 1U : 0U),
                .way       = h->way};
  uint32_t i = 0;
  for (; i + 4 <= n; i += 4) {
    read_few(t, &r, out, n_channels, i, 4);
  }
  for (; i < n; ++i) {
    read_few(t, &r, out, n_channels, i, 1);
  }
  h->way = r.way;
}

WIDE_CLONES static void
read_head(const tape_line* t, tape_head* h, float* const* out, uint32_t n)
{
  if (t->n_channels == 1) {
    read_head_of(t, h, out, 1, n);
  } else {
    read_head_of(t, h, out, 2, n);
  }
}

void
tape_line_read(tape_line* t, float* const* out, uint32_t n)
{
  read_head(t, &t->head[t->active], out, n);
  if (crossfade_runs(&t->fade)) {
    float        share[CONTROL_FRAMES];
    float        fresh[MAX_CHANNELS][CONTROL_FRAMES];
    float* const to[] = {fresh[0], fresh[1]};
    read_head(t, &t->head[1 - t->active], to, n);
    crossfade_shares(&t->fade, share, n);
    for (uint32_t k = 0; k < t->n_channels; ++k) {
      crossfade_mix(share, fresh[k], out[k], n);
    }
  }
}

/// Writes the samples of a track from `from` on, and repeats those at its start
/// after its end
static void
put(float* tape, uint32_t from, const float* x, uint32_t n)
{
  const uint32_t left = TAPE_SIZE - from;
  const uint32_t m    = n < left ? n : left;
  memcpy(tape + from, x, m * sizeof(float));
  memcpy(tape, x + m, (n - m) * sizeof(float));
  if (from < SINC_TAPS || m < n) {
    memcpy(tape + TAPE_SIZE, tape, SINC_TAPS * sizeof(float));
  }
}

void
tape_line_write(tape_line* t, const float* const* in, uint32_t n)
{
  if (t->stride == 1) {
    for (uint32_t k = 0; k < t->n_channels; ++k) {
      put(t->tape[k], t->next, in[k], n);
    }
    t->next = (t->next + n) & MASK;
    return;
  }
  const uint32_t first = t->phase ? t->stride - t->phase : 0;
  uint32_t       kept  = 0;
  for (uint32_t k = 0; k < t->n_channels; ++k) {
    float x[CONTROL_FRAMES];
    kept = 0;
    for (uint32_t i = first; i < n; i += t->stride) {
      x[kept++] = in[k][i];
    }
    put(t->tape[k], t->next, x, kept);
  }
  t->next  = (t->next + kept) & MASK;
  t->phase = (t->phase + n) % t->stride;
}
