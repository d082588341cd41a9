// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "flutter.h"

/// Frequency and amplitude of the sines that stand for motors, capstan, and
/// rollers
static const struct {
  double f_hz, size;
} motors[] = {{0.8, 1.0}, {5.0, 1.0}, {11.0, 0.5}};

enum { MOTORS = sizeof(motors) / sizeof(motors[0]) };

double
flutter_weight(double f_hz)
{
  const double x    = f_hz / 0.63;
  const double x4   = 4.0 / 0.63;
  const double low  = steady_pow(1.0 + 1.0 / (x * x), -1.5);
  const double low4 = steady_pow(1.0 + 1.0 / (x4 * x4), -1.5);
  const double y    = f_hz / 11.8;
  const double y4   = 4.0 / 11.8;
  return low / low4 * sqrt((1.0 + y4 * y4) / (1.0 + y * y));
}

/// Returns a seeded random number from 0 to 1
static double
next_random(uint32_t* seed)
{
  *seed = *seed * 1664525U + 1013904223U;
  return *seed / 4294967296.0;
}

static void
set_turns(flutter* f, double rate_hz)
{
  for (uint32_t i = 0; i < FLUTTER_PARTS; ++i) {
    const double angle = f->w[i] * CONTROL_FRAMES / rate_hz;
    const double re    = steady_cos(angle);
    const double im    = steady_sin(angle);
    // A turn that is not exactly of length 1 would grow or fade over hours
    const double length = sqrt(re * re + im * im);
    f->turn_re[i]       = re / length;
    f->turn_im[i]       = im / length;
  }
  flutter_reset(f);
}

void
flutter_init(flutter* f, double rate_hz)
{
  // The noise has the power of the first sine
  enum { BAND = FLUTTER_PARTS - MOTORS };
  const double share = sqrt(1.0 / (double)BAND);
  uint32_t     seed  = 1951;
  double       size[FLUTTER_PARTS];
  double       power = 0.0;
  for (uint32_t i = 0; i < FLUTTER_PARTS; ++i) {
    double f_hz = 0.0;
    if (i < MOTORS) {
      f_hz    = motors[i].f_hz;
      size[i] = motors[i].size;
    } else {
      f_hz    = 1.0 + 19.0 * (i - MOTORS + next_random(&seed)) / (double)BAND;
      size[i] = share;
    }
    f->w[i]        = 2.0 * DSP_PI * f_hz;
    f->start[i]    = 2.0 * DSP_PI * next_random(&seed);
    const double w = size[i] * flutter_weight(f_hz);
    power += 0.5 * w * w;
  }
  // A meter shows the value not exceeded for 95 % of the time: two deviations
  const double scale = 0.01 / (2.0 * sqrt(power));
  for (uint32_t i = 0; i < FLUTTER_PARTS; ++i) {
    f->size[i] = scale * size[i] / f->w[i];
  }
  set_turns(f, rate_hz);
}

void
flutter_init_single(flutter* f, double f_hz, double rate_hz)
{
  *f         = (flutter){0};
  f->w[0]    = 2.0 * DSP_PI * f_hz;
  f->size[0] = 0.01 / f->w[0];
  set_turns(f, rate_hz);
}

void
flutter_reset(flutter* f)
{
  for (uint32_t i = 0; i < FLUTTER_PARTS; ++i) {
    f->re[i] = steady_cos(f->start[i]);
    f->im[i] = steady_sin(f->start[i]);
  }
}

void
flutter_control(flutter* f)
{
  for (uint32_t i = 0; i < FLUTTER_PARTS; ++i) {
    const double re = f->re[i] * f->turn_re[i] - f->im[i] * f->turn_im[i];
    f->im[i]        = f->re[i] * f->turn_im[i] + f->im[i] * f->turn_re[i];
    f->re[i]        = re;
  }
}

void
flutter_lag_of(const flutter* f, double delay_s, flutter_lag* lag)
{
  for (uint32_t i = 0; i < FLUTTER_PARTS; ++i) {
    lag->re[i] = steady_cos(f->w[i] * delay_s);
    lag->im[i] = -steady_sin(f->w[i] * delay_s);
  }
}

double
flutter_late_s(const flutter* f, const flutter_lag* lag)
{
  // The integral of cos is sin / w: the imaginary parts, now minus then
  double sum[2] = {0.0, 0.0};
  for (uint32_t i = 0; i < FLUTTER_PARTS; i += 2) {
    for (uint32_t k = 0; k < 2; ++k) {
      const double re   = f->re[i + k];
      const double im   = f->im[i + k];
      const double then = re * lag->im[i + k] + im * lag->re[i + k];
      sum[k] += f->size[i + k] * (then - im);
    }
  }
  return sum[0] + sum[1];
}
