// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// The motor frame by frame, for a loop that has something else to do while one
/// frame waits for the other: motor_begin(), motor_next() for each frame,
/// motor_end(), for each channel; then motor_ran() once.

#ifndef COMMON_MOTOR_RUN_H
#define COMMON_MOTOR_RUN_H

#include "motor.h"

/// One channel on its way through a block
typedef struct {
  motor_driver driver;
  motor_rule   rule;
  biquad       restore[2];
  double       keep_chi, feed_chi;
  double       iz, diz, gain, dgain;
  motor_memory s;
} motor_run;

/// Slopes, and the two-port of coil and cone between them, for a frame whose
/// middle is near `x`
static inline __attribute__((always_inline)) void
motor_set_slopes(const motor_driver* d,
                 const motor_rule*   r,
                 motor_memory*       s,
                 double              x,
                 double              iz)
{
  const double u     = (x - d->x0_m) * r->per_xb;
  const double q     = 1.0 + u * u; // Bl at the middle over Bl here
  const double slope = 2.0 * r->curve * x;
  const double cone  = r->still + 0.5 * r->t * slope * slope;
  const double both  = 1.0 / (q * q * cone + d->bl * d->bl * iz);
  s->bl              = d->bl / q;
  s->slope           = slope;
  s->ym              = q * q * both;
  s->yt              = d->bl * iz * q * both;
  s->ye              = iz * cone * s->ym;
}

/// One frame of both sections, in direct form I: what it remembers is signal,
/// not signal times coefficients, so that slow signals do not notice a change
static inline __attribute__((always_inline)) double
motor_run_restore(const biquad* q, double* s, double x)
{
  const double y = q[0].b0 * x + ((q[0].b1 * s[0] + q[0].b2 * s[1]) -
                                  (q[0].a1 * s[2] + q[0].a2 * s[3]));
  const double z =
    q[1].b0 * y + (q[1].b1 * s[2] + q[1].b2 * s[3] - q[1].a1 * s[4]);
  s[1] = s[0];
  s[0] = x;
  s[3] = s[2];
  s[2] = y;
  s[4] = z;
  return z;
}

static inline __attribute__((always_inline)) motor_run
motor_begin(const motor* m, uint32_t k)
{
  return (motor_run){.driver   = m->driver,
                     .rule     = m->rule,
                     .restore  = {m->restore[0], m->restore[1]},
                     .keep_chi = 1.0 - m->relax,
                     .feed_chi = m->relax * m->rule.curve,
                     .iz       = m->iz,
                     .diz      = m->diz,
                     .gain     = m->gain,
                     .dgain    = m->dgain,
                     .s        = m->memory[k]};
}

static inline __attribute__((always_inline)) float
motor_next(motor_run* run, float in)
{
  const motor_rule* const r   = &run->rule;
  const double            kms = run->driver.kms;
  motor_memory* const     s   = &run->s;
  const motor_memory      was = *s;

  // For the frame after this one, from where this one starts
  run->iz += run->diz;
  motor_set_slopes(&run->driver, r, s, was.x + 1.5 * r->t * was.v, run->iz);

  // Midpoint values
  const double e  = (double)in * run->gain + was.stored_emf;
  const double ft = r->momentum * was.v - (kms * was.x + was.slope * was.chi);
  const double i  = was.ye * e - was.yt * ft;
  const double v  = was.yt * e + was.ym * ft;
  const double i2 = r->keep_i2 * was.i2 + r->feed_i2 * i;

  // To the end of the frame
  s->stored_emf =
    (r->new_emf[1] * was.i + r->new_emf[2] * was.i2) + r->new_emf[0] * i;
  s->i   = 2.0 * i - was.i;
  s->i2  = 2.0 * i2 - was.i2;
  s->v   = 2.0 * v - was.v;
  s->x   = was.x + r->t * v;
  s->chi = (run->keep_chi * was.chi + run->feed_chi * was.x * was.x) +
           r->t * was.slope * v;
  s->heat += i * i;
  run->gain += run->dgain;

  const double force = (was.bl * s->i - run->driver.rms * s->v) -
                       (kms * s->x + was.slope * s->chi);
  return (float)motor_run_restore(run->restore, s->s, force * r->scale);
}

static inline __attribute__((always_inline)) void
motor_end(motor* m, uint32_t k, const motor_run* run)
{
  m->memory[k] = run->s;
}

/// All channels have done `n` frames
static inline void
motor_ran(motor* m, uint32_t n)
{
  for (uint32_t f = 0; f < n; ++f) {
    m->iz += m->diz;
    m->gain += m->dgain;
  }
}

#endif // COMMON_MOTOR_RUN_H
