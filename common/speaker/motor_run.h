// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// The motor frame by frame, for a loop that has something else to do while one
/// frame waits for the other: motor_begin(), motor_next() for each frame,
/// motor_end().  Both channels are computed together, at the cost
/// of one.

#ifndef COMMON_SPEAKER_MOTOR_RUN_H
#define COMMON_SPEAKER_MOTOR_RUN_H

#include "motor.h"

/// The motor within a block
typedef struct {
  const motor_driver* driver;
  const motor_rule*   rule;
  const biquad*       restore;
  double              keep_chi, feed_chi;
  double              iz, diz, gain, dgain;
  f64x2               spring; ///< Force of the linear spring
  motor_memory        s;
} motor_run;

/// Sets the slopes, and the two-port of coil and cone between them, for a frame
/// whose middle is near `x`
static inline __attribute__((always_inline)) void
motor_set_slopes(const motor_driver* d,
                 const motor_rule*   r,
                 motor_memory*       s,
                 f64x2               x,
                 double              iz)
{
  const double bl_iz = d->bl * iz;
  const f64x2  u     = (x - d->x0_m) * r->per_xb;
  const f64x2  q     = 1.0 + u * u; // Bl at the middle over Bl here
  const f64x2  qq    = q * q;
  const f64x2  cone  = r->still + r->stiffen * (x * x);
  const f64x2  both  = 1.0 / (qq * cone + d->bl * bl_iz);
  s->bl              = d->bl / q;
  s->slope           = (2.0 * r->curve) * x;
  s->ym              = qq * both;
  s->yt              = bl_iz * (q * both);
  s->ye              = (iz * cone) * s->ym;
}

/// Runs one frame of both sections, in direct form I: its memory is signal, not
/// signal times coefficients, so that a change does not disturb slow signals
static inline __attribute__((always_inline)) f64x2
motor_run_restore(const biquad* q, f64x2* s, f64x2 x)
{
  const f64x2 y = q[0].b0 * x + ((q[0].b1 * s[0] + q[0].b2 * s[1]) -
                                 (q[0].a1 * s[2] + q[0].a2 * s[3]));
  const f64x2 z =
    q[1].b0 * y + (q[1].b1 * s[2] + q[1].b2 * s[3] - q[1].a1 * s[4]);
  s[1] = s[0];
  s[0] = x;
  s[3] = s[2];
  s[2] = y;
  s[4] = z;
  return z;
}

static inline __attribute__((always_inline)) motor_run
motor_begin(const motor* m)
{
  return (motor_run){.driver   = &m->driver,
                     .rule     = &m->rule,
                     .restore  = m->restore,
                     .keep_chi = 1.0 - m->relax,
                     .feed_chi = m->relax * m->rule.curve,
                     .iz       = m->iz,
                     .diz      = m->diz,
                     .gain     = m->gain,
                     .dgain    = m->dgain,
                     .spring   = m->driver.kms * m->memory.x,
                     .s        = m->memory};
}

/// Returns frame i as motor_next() takes it
static inline __attribute__((always_inline)) f64x2
motor_load(const float* const* in, uint32_t n_channels, uint32_t i)
{
  const float left  = clampf(in[0][i], -MOTOR_MOST, MOTOR_MOST);
  const float right = n_channels == 2 ? in[1][i] : 0.0F;
  return (f64x2){(double)left, (double)clampf(right, -MOTOR_MOST, MOTOR_MOST)};
}

static inline __attribute__((always_inline)) f64x2
motor_next(motor_run* run, f64x2 in)
{
  const motor_rule* const r   = run->rule;
  motor_memory* const     s   = &run->s;
  const motor_memory      was = *s;

  // For the frame after this one, from where this one starts
  run->iz += run->diz;
  motor_set_slopes(run->driver, r, s, was.x + 1.5 * r->t * was.v, run->iz);

  // Midpoint values
  const f64x2 e  = in * run->gain + was.stored_emf;
  const f64x2 ft = r->momentum * was.v - (run->spring + was.slope * was.chi);
  const f64x2 i  = was.ye * e - was.yt * ft;
  const f64x2 v  = was.yt * e + was.ym * ft;
  const f64x2 i2 = r->keep_i2 * was.i2 + r->feed_i2 * i;

  // To the end of the frame
  const f64x2 way = r->t * v;
  s->stored_emf =
    (r->new_emf[1] * was.i + r->new_emf[2] * was.i2) + r->new_emf[0] * i;
  s->i   = (i + i) - was.i;
  s->i2  = (i2 + i2) - was.i2;
  s->v   = (v + v) - was.v;
  s->x   = was.x + way;
  s->chi = (run->keep_chi * was.chi + run->feed_chi * (was.x * was.x)) +
           was.slope * way;
  s->heat += i * i;
  run->gain += run->dgain;
  run->spring = run->driver->kms * s->x;

  const f64x2 force = (was.bl * s->i - run->driver->rms * s->v) -
                      (run->spring + was.slope * s->chi);
  return motor_run_restore(run->restore, s->s, force * r->scale);
}

static inline __attribute__((always_inline)) void
motor_end(motor* m, const motor_run* run)
{
  m->memory = run->s;
  m->iz     = run->iz;
  m->gain   = run->gain;
}

#endif // COMMON_SPEAKER_MOTOR_RUN_H
