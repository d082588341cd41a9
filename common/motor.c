// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "motor.h"

#include <string.h>

// Time in which the state of the spring returns to its place after drift
#define RELAX_S 0.0057

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
  m->rate_hz    = rate_hz;
  m->relax      = one_pole_share(RELAX_S, rate_hz);
  m->source_ohm = source_ohm;
  m->coil_ohm   = driver->re_ohm;
  motor_design_restore(driver, source_ohm, rate_hz, m->restore);
  motor_reset(m);
}

void
motor_reset(motor* m)
{
  const motor_driver* const d = &m->driver;

  settle(m);
  memset(m->memory, 0, sizeof(m->memory));

  const double u   = d->x0_m / d->xb_m;
  const double bl  = d->bl / (1.0 + u * u);
  const double inv = 1.0 / (2.0 * m->rate_hz * d->mms_kg + d->rms +
                            0.5 / m->rate_hz * d->kms + bl * bl * m->iz);
  for (uint32_t k = 0; k < MAX_CHANNELS; ++k) {
    m->memory[k].bl  = bl;
    m->memory[k].inv = inv;
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
  const motor_driver d  = m->driver;
  const double       t  = 1.0 / m->rate_hz;
  const double       h  = 2.0 * m->rate_hz;
  const double       hm = h * d.mms_kg;

  // The coil: what its two states add to the EMF, and how they move
  const double d2      = h * d.l2_h + d.r2_ohm;
  const double emf_i   = h * d.le_h;
  const double emf_i2  = d.r2_ohm * h * d.l2_h / d2;
  const double keep_i2 = h * d.l2_h / d2;
  const double feed_i2 = d.r2_ohm / d2;

  // The spring: energy (kms x^2 + chi^2) / 2 with chi = c x^2 at its place
  const double c     = sqrt(0.5 * d.kms) / d.xk_m;
  const double relax = m->relax;

  const double per_xb = 1.0 / d.xb_m;
  const double still  = hm + d.rms + 0.5 * t * d.kms;
  const double scale =
    (d.re_ohm + MOTOR_SOURCE_OHM) / (d.bl * MOTOR_FULL_SCALE_V);

  const biquad restore[2] = {m->restore[0], m->restore[1]};

  motor_memory s    = *memory;
  double       iz   = m->iz;
  double       gain = m->gain;
  for (uint32_t f = 0; f < n; ++f) {
    // Slopes of the frame after this one
    const double xs    = s.x + 1.5 * t * s.v;
    const double u     = (xs - d.x0_m) * per_xb;
    const double bl    = d.bl / (1.0 + u * u);
    const double slope = 2.0 * c * xs;
    const double inv =
      1.0 / (still + 0.5 * t * slope * slope + bl * bl * (iz + m->diz));

    // Midpoint values
    const double ae = (double)in[f] * gain + emf_i * s.i + emf_i2 * s.i2;
    const double v =
      (hm * s.v - d.kms * s.x - s.slope * s.chi + s.bl * iz * ae) * s.inv;
    const double i  = iz * (ae - s.bl * v);
    const double i2 = keep_i2 * s.i2 + feed_i2 * i;

    // To the end of the frame
    s.i  = 2.0 * i - s.i;
    s.i2 = 2.0 * i2 - s.i2;
    s.v  = 2.0 * v - s.v;
    s.x += t * v;
    s.chi += t * s.slope * v;
    s.chi += relax * (c * s.x * s.x - s.chi);

    const double force =
      s.bl * s.i - d.kms * s.x - s.slope * s.chi - d.rms * s.v;
    s.bl    = bl;
    s.slope = slope;
    s.inv   = inv;
    iz += m->diz;
    gain += m->dgain;

    out[f] = (float)run_restore(restore, s.s, force * scale);
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
