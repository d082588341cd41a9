// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "cabinet_sections.h"

#include "common/core/fastmath.h"

#include <string.h>

/// Runs one frame of a section
static inline __attribute__((always_inline)) f64x2
run_section(const biquad* q, f64x2* m, f64x2 x)
{
  const f64x2 y = q->b0 * x + m[0];
  m[0]          = (q->b1 * x + m[1]) - q->a1 * y;
  m[1]          = q->b2 * x - q->a2 * y;
  return y;
}

/// Does the same without b2
static inline __attribute__((always_inline)) f64x2
run_low_pass(const biquad* q, f64x2* m, f64x2 x)
{
  const f64x2 y = q->b0 * x + m[0];
  m[0]          = (q->b1 * x + m[1]) - q->a1 * y;
  m[1]          = -q->a2 * y;
  return y;
}

/// Steps the coefficients of a low-pass by one frame
static inline __attribute__((always_inline)) void
step_low_pass(biquad* q, const biquad* step)
{
  q->b0 += step->b0;
  q->b1 += step->b1;
  q->a1 += step->a1;
  q->a2 += step->a2;
}

/// Runs all sections in one loop: the processor works on several at a time
WIDE_CLONES static void
run_sections(cabinet* c, f64x2* x, bool microphone_moves, uint32_t n)
{
  biquad q[CABINET_SECTIONS];
  f64x2  m[CABINET_SECTIONS][2];
  double share = c->share;
  memcpy(q, c->now, sizeof(q));
  memcpy(m, c->memory, sizeof(m));
  for (uint32_t i = 0; i < n; ++i) {
    f64x2 y = run_section(&q[CABINET_LOWER], m[CABINET_LOWER], x[i]);
    y       = run_section(&q[CABINET_EDGE], m[CABINET_EDGE], y);
    y       = run_section(&q[CABINET_MODE_1], m[CABINET_MODE_1], y);
    y       = run_section(&q[CABINET_MODE_2], m[CABINET_MODE_2], y);
    y       = run_section(&q[CABINET_MODE_3], m[CABINET_MODE_3], y);
    y       = run_section(&q[CABINET_CAP], m[CABINET_CAP], y);
    y       = run_section(&q[CABINET_MICROPHONE], m[CABINET_MICROPHONE], y);
    y +=
      share * (run_section(&q[CABINET_PRESENCE], m[CABINET_PRESENCE], y) - y);
    y    = run_low_pass(&q[CABINET_LOW_PASS_1], m[CABINET_LOW_PASS_1], y);
    x[i] = run_low_pass(&q[CABINET_LOW_PASS_2], m[CABINET_LOW_PASS_2], y);

    share += c->share_step;
    step_low_pass(&q[CABINET_LOW_PASS_1], &c->step[CABINET_LOW_PASS_1]);
    step_low_pass(&q[CABINET_LOW_PASS_2], &c->step[CABINET_LOW_PASS_2]);
    if (microphone_moves) {
      q[CABINET_MICROPHONE] =
        cabinet_add(q[CABINET_MICROPHONE], 1.0, c->step[CABINET_MICROPHONE]);
    }
  }
  memcpy(c->memory, m, sizeof(m));
  memcpy(c->now, q, sizeof(q));
  c->share = share;
}

// ---------------------------------------------------------------------------
// One channel alone: two sections that follow each other work side by side in
// one register, the second one frame behind the first, and each pair one frame
// behind the pair before it.  A lane does what run_section() does, to the bit.

#define PAIRS      (CABINET_SECTIONS / 2)
#define LEAST_MONO PAIRS ///< Frames that fill the row of pairs

/// b0, b1, b2, a1, a2
typedef struct {
  f64x2 b0, b1, b2, a1, a2;
} lanes;

typedef struct {
  lanes  q, step;
  f64x2  m[2];
  double last; ///< Last output of the first section
} pair;

/// Returns sections q[0] and q[1] side by side
static inline lanes
lanes_of(const biquad* q)
{
  return (lanes){.b0 = {q[0].b0, q[1].b0},
                 .b1 = {q[0].b1, q[1].b1},
                 .b2 = {q[0].b2, q[1].b2},
                 .a1 = {q[0].a1, q[1].a1},
                 .a2 = {q[0].a2, q[1].a2}};
}

static inline pair
pair_of(const cabinet* c, int at)
{
  const f64x2* const a = c->memory[at];
  const f64x2* const b = c->memory[at + 1];
  return (pair){.q    = lanes_of(&c->now[at]),
                .step = lanes_of(&c->step[at]),
                .m    = {{a[0][0], b[0][0]}, {a[1][0], b[1][0]}}};
}

/// The row of pairs, and the presence bell's share
typedef struct {
  pair   p[PAIRS];
  double share, share_step;
} row;

/// Known to the compiler where this is inlined
static inline __attribute__((always_inline)) bool
has_presence(int k)
{
  return 2 * k + 1 == CABINET_PRESENCE;
}

static inline __attribute__((always_inline)) bool
is_low_pass(int k)
{
  return 2 * k == CABINET_LOW_PASS_1;
}

/// Runs a frame of both sections of pair k; coefficients move where `on` is 1
static inline __attribute__((always_inline)) f64x2
run_pair(row* r, int k, f64x2 x, f64x2 on)
{
  pair* const p = &r->p[k];
  const f64x2 y = p->q.b0 * x + p->m[0];
  p->m[0]       = (p->q.b1 * x + p->m[1]) - p->q.a1 * y;
  p->m[1]       = is_low_pass(k) ? -p->q.a2 * y : p->q.b2 * x - p->q.a2 * y;
  if (is_low_pass(k)) {
    p->q.b0 += on * p->step.b0;
    p->q.b1 += on * p->step.b1;
    p->q.a1 += on * p->step.a1;
    p->q.a2 += on * p->step.a2;
  }
  return y;
}

/// Runs the first section alone; discards what the second does meanwhile
static inline __attribute__((always_inline)) void
begin(row* r, int k, double x)
{
  pair* const  p  = &r->p[k];
  const double m0 = p->m[0][1];
  const double m1 = p->m[1][1];
  p->last         = run_pair(r, k, (f64x2){x, 0.0}, (f64x2){1.0, 0.0})[0];
  p->m[0][1]      = m0;
  p->m[1][1]      = m1;
}

/// Returns the output of the pair, with the present share of the presence
/// bell's effect
static inline __attribute__((always_inline)) double
leave(row* r, int k, double x, double y)
{
  if (!has_presence(k)) {
    return y;
  }
  const double mixed = x + r->share * (y - x);
  r->share += r->share_step;
  return mixed;
}

static inline __attribute__((always_inline)) double
next(row* r, int k, double x)
{
  pair* const  p   = &r->p[k];
  const double was = p->last;
  const f64x2  y   = run_pair(r, k, (f64x2){x, was}, (f64x2){1.0, 1.0});
  p->last          = y[0];
  return leave(r, k, was, y[1]);
}

/// Runs the second section alone
static inline __attribute__((always_inline)) double
end(row* r, int k)
{
  pair* const  p  = &r->p[k];
  const double m0 = p->m[0][0];
  const double m1 = p->m[1][0];
  const f64x2  y  = run_pair(r, k, (f64x2){0.0, p->last}, (f64x2){0.0, 1.0});
  p->m[0][0]      = m0;
  p->m[1][0]      = m1;
  return leave(r, k, p->last, y[1]);
}

static void
keep(cabinet* c, const row* r)
{
  for (int s = 0; s < CABINET_SECTIONS; ++s) {
    const pair* const p = &r->p[s / 2];
    c->memory[s][0][0]  = p->m[0][s % 2];
    c->memory[s][1][0]  = p->m[1][s % 2];
    if (s >= CABINET_LOW_PASS_1) {
      c->now[s].b0 = p->q.b0[s % 2];
      c->now[s].b1 = p->q.b1[s % 2];
      c->now[s].a1 = p->q.a1[s % 2];
      c->now[s].a2 = p->q.a2[s % 2];
    }
  }
  c->share = r->share;
}

/// Runs a frame through pairs `from` to `until` - 1, which the compiler knows
static inline __attribute__((always_inline)) double
pass(row* r, int from, int until, double x)
{
  if (from <= 0 && until > 0) {
    x = next(r, 0, x);
  }
  if (from <= 1 && until > 1) {
    x = next(r, 1, x);
  }
  if (from <= 2 && until > 2) {
    x = next(r, 2, x);
  }
  if (from <= 3 && until > 3) {
    x = next(r, 3, x);
  }
  if (from <= 4 && until > 4) {
    x = next(r, 4, x);
  }
  return x;
}

_Static_assert(PAIRS == 5, "pass(), fill() and drain() name each pair");

/// Takes the first frames, one for each pair
static inline __attribute__((always_inline)) void
fill(row* r, const float* in)
{
  begin(r, 0, (double)in[0]);
  begin(r, 1, pass(r, 0, 1, (double)in[1]));
  begin(r, 2, pass(r, 0, 2, (double)in[2]));
  begin(r, 3, pass(r, 0, 3, (double)in[3]));
  begin(r, 4, pass(r, 0, 4, (double)in[4]));
}

/// Gives the last frames
static inline __attribute__((always_inline)) void
drain(row* r, float* out)
{
  out[0] = (float)pass(r, 1, PAIRS, end(r, 0));
  out[1] = (float)pass(r, 2, PAIRS, end(r, 1));
  out[2] = (float)pass(r, 3, PAIRS, end(r, 2));
  out[3] = (float)pass(r, 4, PAIRS, end(r, 3));
  out[4] = (float)end(r, 4);
}

/// Runs LEAST_MONO frames or more
WIDE_CLONES static void
run_mono(cabinet* c, const float* in, float* out, uint32_t n)
{
  row r = {.share = c->share, .share_step = c->share_step};
  for (int k = 0; k < PAIRS; ++k) {
    r.p[k] = pair_of(c, 2 * k);
  }
  fill(&r, in);
  for (uint32_t i = PAIRS; i < n; ++i) {
    out[i - PAIRS] = (float)pass(&r, 0, PAIRS, (double)in[i]);
  }
  drain(&r, out + n - PAIRS);
  keep(c, &r);
}

// ---------------------------------------------------------------------------

void
cabinet_run_sections(cabinet*            c,
                     const float* const* in,
                     float* const*       out,
                     uint32_t            n_channels,
                     uint32_t            n)
{
  if (n_channels == 1 && n >= LEAST_MONO && !c->microphone_moves) {
    run_mono(c, in[0], out[0], n);
    return;
  }
  f64x2 x[CONTROL_FRAMES];
  svf_load(in, x, n_channels, n);
  run_sections(c, x, c->microphone_moves, n);
  svf_store(x, out, n_channels, n);
}
