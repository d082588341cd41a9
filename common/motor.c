// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "motor.h"

#include <string.h>

// Time in which the state of the spring returns to its place after drift
#define RELAX_S 0.0057

static motor_rule
rule_of_driver(const motor_driver* d, double rate_hz)
{
  const double h       = 2.0 * rate_hz;
  const double d2      = h * d->l2_h + d->r2_ohm;
  const double emf_i   = h * d->le_h;
  const double emf_i2  = d->r2_ohm * h * d->l2_h / d2;
  const double keep_i2 = h * d->l2_h / d2;
  const double feed_i2 = d->r2_ohm / d2;
  return (motor_rule){.t        = 1.0 / rate_hz,
                      .momentum = h * d->mms_kg,
                      .keep_i2  = keep_i2,
                      .feed_i2  = feed_i2,
                      .new_emf  = {2.0 * (emf_i + emf_i2 * feed_i2), -emf_i,
                                   emf_i2 * (2.0 * keep_i2 - 1.0)},
                      .curve    = sqrt(0.5 * d->kms) / d->xk_m,
                      .per_xb   = 1.0 / d->xb_m,
                      .still = h * d->mms_kg + d->rms + 0.5 / rate_hz * d->kms,
                      .scale = (d->re_ohm + MOTOR_SOURCE_OHM) /
                               (d->bl * MOTOR_FULL_SCALE_V)};
}

/// 1 / impedance that the midpoint current sees
static double
step_admittance(const motor* m, double source_ohm, double coil_ohm)
{
  const motor_driver* const d = &m->driver;

  const double h    = 2.0 * m->rate_hz;
  const double eddy = h * d->l2_h * d->r2_ohm / (h * d->l2_h + d->r2_ohm);
  return 1.0 / (h * d->le_h + coil_ohm + source_ohm + eddy);
}

/// Volts that a sample of 1.0 stands for
static double
source_gain(const motor* m, double source_ohm)
{
  const double re = m->driver.re_ohm;
  return MOTOR_FULL_SCALE_V * (re + source_ohm) / (re + MOTOR_SOURCE_OHM);
}

/// End the ramps where they were bound for, free of rounding
static void
settle(motor* m)
{
  m->iz   = step_admittance(m, m->source_ohm, m->coil_ohm);
  m->gain = source_gain(m, m->source_ohm);
  m->diz = m->dgain = 0.0;
}

void
motor_init(motor*              m,
           const motor_driver* driver,
           double              source_ohm,
           double              rate_hz)
{
  m->driver     = *driver;
  m->rule       = rule_of_driver(driver, rate_hz);
  m->rate_hz    = rate_hz;
  m->relax      = one_pole_share(RELAX_S, rate_hz);
  m->source_ohm = source_ohm;
  m->coil_ohm   = driver->re_ohm;
  motor_design_restore(driver, source_ohm, rate_hz, m->restore);
  motor_reset(m);
}

/// Slopes, and the two-port of coil and cone between them, for a frame whose
/// middle is near `x`
static inline __attribute__((always_inline)) void
set_slopes(const motor* m, motor_memory* s, double x, double iz)
{
  const motor_driver* const d = &m->driver;
  const motor_rule* const   r = &m->rule;

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

void
motor_reset(motor* m)
{
  settle(m);
  memset(m->memory, 0, sizeof(m->memory));
  for (uint32_t k = 0; k < MAX_CHANNELS; ++k) {
    set_slopes(m, &m->memory[k], 0.0, m->iz);
  }
}

void
motor_push(motor* m, double source_ohm, double coil_ohm)
{
  settle(m);
  if (source_ohm != m->source_ohm) {
    motor_design_restore(&m->driver, source_ohm, m->rate_hz, m->restore);
  }
  m->diz = (step_admittance(m, source_ohm, coil_ohm) - m->iz) / CONTROL_FRAMES;
  m->dgain      = (source_gain(m, source_ohm) - m->gain) / CONTROL_FRAMES;
  m->source_ohm = source_ohm;
  m->coil_ohm   = coil_ohm;
}

double
motor_take_power(motor* m, uint32_t n)
{
  double most = 0.0;
  for (uint32_t k = 0; k < MAX_CHANNELS; ++k) {
    most              = fmax(most, m->memory[k].heat);
    m->memory[k].heat = 0.0;
  }
  return m->coil_ohm * most / n;
}

double
motor_warm_ohm(const motor_driver* driver, double rise_k)
{
  return driver->re_ohm * (1.0 + 0.00393 * rise_k);
}

/// One frame of both sections, in direct form I: what it remembers is signal,
/// not signal times coefficients, so that slow signals do not notice a change
static inline double
run_restore(const biquad* q, double* s, double x)
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

static void
process_channel(const motor*  m,
                motor_memory* memory,
                const float*  in,
                float*        out,
                uint32_t      n)
{
  const motor_rule r          = m->rule;
  const double     kms        = m->driver.kms;
  const double     rms        = m->driver.rms;
  const double     keep_chi   = 1.0 - m->relax;
  const double     feed_chi   = m->relax * r.curve;
  const biquad     restore[2] = {m->restore[0], m->restore[1]};

  motor_memory s    = *memory;
  double       iz   = m->iz;
  double       gain = m->gain;
  for (uint32_t f = 0; f < n; ++f) {
    const motor_memory was = s;

    // For the frame after this one, from where this one starts
    iz += m->diz;
    set_slopes(m, &s, was.x + 1.5 * r.t * was.v, iz);

    // Midpoint values
    const double e  = (double)in[f] * gain + was.stored_emf;
    const double ft = r.momentum * was.v - (kms * was.x + was.slope * was.chi);
    const double i  = was.ye * e - was.yt * ft;
    const double v  = was.yt * e + was.ym * ft;
    const double i2 = r.keep_i2 * was.i2 + r.feed_i2 * i;

    // To the end of the frame
    s.stored_emf =
      (r.new_emf[1] * was.i + r.new_emf[2] * was.i2) + r.new_emf[0] * i;
    s.i  = 2.0 * i - was.i;
    s.i2 = 2.0 * i2 - was.i2;
    s.v  = 2.0 * v - was.v;
    s.x  = was.x + r.t * v;
    s.chi =
      (keep_chi * was.chi + feed_chi * was.x * was.x) + r.t * was.slope * v;
    s.heat += i * i;
    gain += m->dgain;

    const double force =
      (was.bl * s.i - rms * s.v) - (kms * s.x + was.slope * s.chi);
    out[f] = (float)run_restore(restore, s.s, force * r.scale);
  }
  *memory = s;
}

void
motor_process(motor*              m,
              const float* const* in,
              float* const*       out,
              uint32_t            n_channels,
              uint32_t            n)
{
  for (uint32_t k = 0; k < n_channels; ++k) {
    process_channel(m, &m->memory[k], in[k], out[k], n);
  }
  for (uint32_t f = 0; f < n; ++f) {
    m->iz += m->diz;
    m->gain += m->dgain;
  }
}
