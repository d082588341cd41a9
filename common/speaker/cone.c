// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "cone.h"

// Computed: Vas / Vb of a closed box that lifts 80 Hz to 93 Hz
#define BOX_COMPLIANCE_RATIO 0.35

double
cone_scale(cone_size size)
{
  static const double inches[] = {8.0, 10.0, 12.0, 15.0};
  return inches[size] / 12.0;
}

motor_driver
cone_driver(cone_size size, bool is_open)
{
  const double s  = cone_scale(size);
  const double fs = 80.0 / s;
  const double m  = 0.028 * s * s;
  const double w  = 2.0 * DSP_PI * fs;
  const double k  = m * w * w;
  const double u0 = 0.1; // x0 / xb
  return (motor_driver){
    .re_ohm = 6.5,
    .le_h   = 0.25e-3 * s,
    .l2_h   = 0.6e-3 * s,
    .r2_ohm = 8.0,
    .bl     = 12.0 * sqrt(s) * (1.0 + u0 * u0), // 12 sqrt(s) at rest
    .mms_kg = m,
    .rms    = w * m / 8.0, // Qms 8
    .kms    = is_open ? k : k * (1.0 + BOX_COMPLIANCE_RATIO),
    .x0_m   = u0 * 4e-3 * s,
    .xb_m   = 4e-3 * s,
    .xk_m   = 3e-3 * s,
  };
}

// J1(x) = 1/pi int_0^pi cos(t - x sin(t)) dt; over a whole period the midpoint
// rule errs less than rounding from x / 2 + 20 points on
#define N_POINTS 32

double
cone_piston_db(double x)
{
  if (x < 1e-6) {
    return 0.0;
  }
  double sum = 0.0;
  for (int i = 0; i < N_POINTS; ++i) {
    const double t = DSP_PI * (i + 0.5) / N_POINTS;
    sum += steady_cos(t - x * steady_sin(t));
  }
  return gain_to_db(fabs(2.0 * sum / (N_POINTS * x)) + 1e-12);
}
