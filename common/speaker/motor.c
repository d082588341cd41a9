// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "common/core/fastmath.h"
#include "common/filters/svf.h"
#include "motor_run.h"

#include <string.h>

// Time in which the state of the spring returns to its place after drift
#define RELAX_S 0.0057

static motor_rule
rule_of_driver(const motor_driver* d, double rate_hz)
{
  const double h       = 2.0 * rate_hz;
  const double curve   = sqrt(0.5 * d->kms) / d->xk_m;
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
                      .curve    = curve,
                      .stiffen  = 2.0 * curve * curve / rate_hz,
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

/// Ends the ramps at their targets, free of rounding
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

void
motor_reset(motor* m)
{
  settle(m);
  memset(&m->memory, 0, sizeof(m->memory));
  motor_set_slopes(&m->driver, &m->rule, &m->memory, (f64x2){0.0, 0.0}, m->iz);
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
  const f64x2 heat = m->memory.heat;
  m->memory.heat   = (f64x2){0.0, 0.0};
  return m->coil_ohm * fmax(heat[0], heat[1]) / n;
}

double
motor_warm_ohm(const motor_driver* driver, double rise_k)
{
  return driver->re_ohm * (1.0 + 0.00393 * rise_k);
}

WIDE_CLONES static void
process(motor*              m,
        const float* const* in,
        float* const*       out,
        uint32_t            n_channels,
        uint32_t            n)
{
  f64x2     x[CONTROL_FRAMES];
  motor_run run = motor_begin(m);
  for (uint32_t f = 0; f < n; ++f) {
    x[f] = motor_next(&run, motor_load(in, n_channels, f));
  }
  motor_end(m, &run);
  svf_store(x, out, n_channels, n);
}

void
motor_process(motor*              m,
              const float* const* in,
              float* const*       out,
              uint32_t            n_channels,
              uint32_t            n)
{
  process(m, in, out, n_channels, n);
}
