// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "triode.h"

#include <math.h>

const triode triode_12ax7 = {
  .plate = {.mu = 106.5, .ex = 1.16, .kg1 = 936, .kp = 610, .kvb = 10000},
  .grid  = {.gg = 6.177e-4, .xi = 1.314, .cg = 9.901, .vc = 0.2},
};

/// ln(1 + e^x), and its slope, without overflow
static double
softplus(double x, double* slope)
{
  const double e = exp(-fabs(x));
  *slope         = x > 0.0 ? 1.0 / (1.0 + e) : e / (1.0 + e);
  return fmax(x, 0.0) + log1p(e);
}

triode_point
triode_plate(const triode_plate_law* law, double vg, double va)
{
  if (va <= 0.0) {
    return (triode_point){0};
  }
  const double q = 1.0 / sqrt(law->kvb + va * va);
  double       l = 0.0;
  const double s =
    softplus(law->kp * (1.0 / law->mu + (vg + law->vct) * q), &l);
  const double e1 = va / law->kp * s;
  if (e1 <= 0.0) { // Underflow, far beyond cut-off
    return (triode_point){0};
  }
  const double ia    = 2.0 * pow(e1, law->ex) / law->kg1;
  const double slope = law->ex * ia / e1; // d ia / d e1

  return (triode_point){
    .ia = ia,
    .gm = slope * va * l * q,
    .gp = slope * (s / law->kp - va * va * (vg + law->vct) * q * q * q * l),
  };
}

double
triode_grid(const triode_grid_law* law, double vg, double* slope)
{
  double       l = 0.0;
  const double s = softplus(law->cg * (vg + law->vc), &l) / law->cg;
  if (s <= 0.0) {
    *slope = 0.0;
    return 0.0;
  }
  const double ig = law->gg * pow(s, law->xi);
  *slope          = law->xi * ig / s * l;
  return ig;
}
