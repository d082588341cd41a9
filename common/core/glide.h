// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Moving a control without a click.
///
/// Two parts.  A `glide` follows a control value on the control grid
/// (CONTROL_FRAMES): three one-pole smoothers in series, so that value, slope
/// and curvature start from where they are whatever the control does.  A `ramp`
/// turns the values derived from it (a gain, a filter coefficient), one per
/// grid line, into one per frame: a quadratic B-spline through the last three,
/// which has a continuous slope.  A step of linear gain by 1 over a glide of
/// 5 ms leaves less than -100 dB above 4 kHz; a plain one-pole leaves -46 dB.
///
/// Glide in the unit the ear works in (dB, log2 Hz); ramp the coefficient.
/// Once settled both are exact, and `moving` is false: the cheap path is open.
///
/// A stage lists all its glides in one place: see GLIDES_FIELDS below.

#ifndef COMMON_CORE_GLIDE_H
#define COMMON_CORE_GLIDE_H

#include "dsp.h"

/// Time constant of each of the three smoothers
#define GLIDE_TAU_S 0.005

/// A control on its way.  Read `y` and `moving`.
typedef struct {
  double target;
  double y1, y2, y; ///< The three smoothers; the last is the value now
  bool   moving;    ///< False: y == target exactly, now and on the last line
} glide;

/// Returns the share per grid line, for glide_next()
static inline double
glide_share(double rate_hz)
{
  return one_pole_share(GLIDE_TAU_S, rate_hz / CONTROL_FRAMES);
}

static inline void
glide_set(glide* g, double target)
{
  if (target != g->target) {
    g->target = target;
    g->moving = true;
  }
}

/// Jumps to the target
static inline void
glide_snap(glide* g)
{
  g->y1 = g->y2 = g->y = g->target;
  g->moving            = false;
}

/// Moves on by one grid line; returns the value there
static inline double
glide_next(glide* g, double share)
{
  if (!g->moving) {
    return g->y;
  }
  g->y1 += share * (g->target - g->y1);
  g->y2 += share * (g->y1 - g->y2);
  g->y += share * (g->y2 - g->y);
  const double near = 1e-7 * (1.0 + fabs(g->target));
  if (fabs(g->target - g->y) < near && fabs(g->target - g->y1) < near) {
    glide_snap(g);
  }
  return g->y;
}

// ---------------------------------------------------------------------------
// All glides of a stage

/// A stage lists what glides in an X-macro beside its controls:
///
///   #define STAGE_GLIDES(GLIDE, SLOW)
///     GLIDE(field, target)         within GLIDE_TAU_S
///     SLOW(field, tau_s, target)   within a time constant of its own
///
/// `target` says where the controls `p` send it, in the unit that the ear works
/// in (`s` is the state).  `GLIDES_FIELDS(STAGE_GLIDES)` in the state declares
/// the glides, both by name and as the array `glides`.  GLIDES_DEFINE in the
/// source makes their verbs:
///
///   void x_glides_init(x* s, double rate_hz)
///   void x_glides_set(x* s, const x_params* p)
///   void x_glides_snap(x* s)
///   bool x_glides_next(x* s)   True if any was on its way before this line.
///     Where it matters which, read its `moving` before.
// NOLINTBEGIN(bugprone-macro-parentheses): they make declarations
#define GLIDES_FIELDS(ROWS)                                     \
  union {                                                       \
    struct {                                                    \
      ROWS(GLIDES_FIELD, GLIDES_FIELD_SLOW)                     \
    };                                                          \
    glide glides[0 ROWS(GLIDES_COUNT, GLIDES_COUNT_SLOW)];      \
  };                                                            \
  double glide_shares[0 ROWS(GLIDES_COUNT, GLIDES_COUNT_SLOW)]; \
  bool   glides_move;

#define GLIDES_FIELD(field, target)             glide field;
#define GLIDES_FIELD_SLOW(field, tau_s, target) glide field;
#define GLIDES_COUNT(field, target)             +1
#define GLIDES_COUNT_SLOW(field, tau_s, target) +1
#define GLIDES_TAU(field, target)               GLIDE_TAU_S,
#define GLIDES_TAU_SLOW(field, tau_s, target)   tau_s,
#define GLIDES_SET(field, target)               glide_set(&s->field, target);
#define GLIDES_SET_SLOW(field, tau_s, target)   glide_set(&s->field, target);

static inline void
glides_init(double* shares, const double* tau_s, uint32_t n, double rate_hz)
{
  for (uint32_t i = 0; i < n; ++i) {
    shares[i] = one_pole_share(tau_s[i], rate_hz / CONTROL_FRAMES);
  }
}

static inline void
glides_snap(glide* g, uint32_t n)
{
  for (uint32_t i = 0; i < n; ++i) {
    glide_snap(&g[i]);
  }
}

static inline bool
glides_next(glide* g, const double* shares, uint32_t n)
{
  bool any = false;
  for (uint32_t i = 0; i < n; ++i) {
    any = any || g[i].moving;
    (void)glide_next(&g[i], shares[i]);
  }
  return any;
}

#define GLIDES_DEFINE(x, ROWS)                                                 \
  enum { x##_n_glides = 0 ROWS(GLIDES_COUNT, GLIDES_COUNT_SLOW) };             \
  static inline void x##_glides_init(x* s, double rate_hz)                     \
  {                                                                            \
    static const double tau_s[] = {ROWS(GLIDES_TAU, GLIDES_TAU_SLOW)};         \
    glides_init(s->glide_shares, tau_s, x##_n_glides, rate_hz);                \
  }                                                                            \
  static inline void x##_glides_set(x* s, const x##_params* p)                 \
  {                                                                            \
    ROWS(GLIDES_SET, GLIDES_SET_SLOW)                                          \
    s->glides_move = true;                                                     \
  }                                                                            \
  static inline void x##_glides_snap(x* s)                                     \
  {                                                                            \
    glides_snap(s->glides, x##_n_glides);                                      \
  }                                                                            \
  static inline bool x##_glides_next(x* s)                                     \
  {                                                                            \
    s->glides_move =                                                           \
      s->glides_move && glides_next(s->glides, s->glide_shares, x##_n_glides); \
    return s->glides_move;                                                     \
  }
// NOLINTEND(bugprone-macro-parentheses)

/// Controls in the units of glides
static inline double
hz_to_octaves(float hz)
{
  return steady_log2((double)hz);
}

static inline double
pc_to_share(float pc)
{
  return 0.01 * (double)pc;
}

// ---------------------------------------------------------------------------
// Ramps

/// A quadratic B-spline on its way: value of the coming frame, first and second
/// difference
typedef struct {
  double v, d, dd;
} ramp_spline;

/// Returns the spline of the last two values pushed and the one to go to,
/// `lines` grid lines apart
static inline ramp_spline
ramp_spline_of(double p0, double p1, double p, uint32_t lines)
{
  const double h   = lines * CONTROL_FRAMES;
  const double s0  = (p1 - p0) / h; // Slope at both ends
  const double s1  = (p - p1) / h;
  const double acc = (s1 - s0) / h;

  // Forward differences of (p0 + p1) / 2 + s0 t + acc t^2 / 2
  return (ramp_spline){0.5 * (p0 + p1), s0 + 0.5 * acc, acc};
}

/// One coefficient per frame.  Zeroed state is a steady 0.
typedef struct {
  float  v, d, dd; ///< Value of the coming frame, first and second difference
  double p0, p1;   ///< The last two values pushed
  bool   moving;   ///< False: v for good, until the next push
} ramp;

/// Jumps to `p` and stays
static inline void
ramp_snap(ramp* r, double p)
{
  r->p0 = r->p1 = p;
  r->v          = (float)p;
  r->d = r->dd = 0;
  r->moving    = false;
}

/// Aims for `p` at a grid line, `lines` lines after the last push and before
/// the next.  Returns `moving`: true until the third push of the same value.
static inline bool
ramp_push_over(ramp* r, double p, uint32_t lines)
{
  const ramp_spline s = ramp_spline_of(r->p0, r->p1, p, lines);

  r->v      = (float)s.v;
  r->d      = (float)s.d;
  r->dd     = (float)s.dd;
  r->moving = r->p1 != r->p0 || p != r->p1;
  r->p0     = r->p1;
  r->p1     = p;
  return r->moving;
}

/// Does the same, with a push on every line
static inline bool
ramp_push(ramp* r, double p)
{
  return ramp_push_over(r, p, 1);
}

/// Returns true if the ramp stands at `p`
static inline bool
ramp_rests_at(const ramp* r, float p)
{
  return !r->moving && r->v == p;
}

/// Returns the value of this frame; steps to the next
static inline float
ramp_next(ramp* r)
{
  const float v = r->v;
  r->v += r->d;
  r->d += r->dd;
  return v;
}

/// Writes the values of `n` frames
static inline void
ramp_values(ramp* r, float* values, uint32_t n)
{
  ramp at = *r; // Local: `values` could be part of it
  if (!at.moving) {
    for (uint32_t i = 0; i < n; ++i) {
      values[i] = at.v;
    }
    return;
  }
  for (uint32_t i = 0; i < n; ++i) {
    values[i] = ramp_next(&at);
  }
  *r = at;
}

#endif // COMMON_CORE_GLIDE_H
