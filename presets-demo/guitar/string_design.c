// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "string_design.h"

#include "repeatable.h"

#define AIR_VISCOSITY 1.8e-5 // Pa s
#define AIR_DENSITY   1.2    // kg/m^3
#define SUPPORT_S_KG  1.0e-3 // Conductance of bridge and neck between its modes

// The pole pieces are set for an even output: the sensitivity grows with the
// steel in the string, d^2, and is trimmed by height (our choice).
const string_gauge guitar_strings[N_STRINGS] = {
  {82.4069, 1.168e-3, 0.432e-3, 6.82e-3, 2300.0, 1.00},
  {110.0, 0.914e-3, 0.406e-3, 4.27e-3, 2500.0, 0.88},
  {146.8324, 0.660e-3, 0.343e-3, 2.26e-3, 2700.0, 0.66},
  {195.9977, 0.432e-3, 0.432e-3, 1.151e-3, 5000.0, 0.64},
  {246.9417, 0.330e-3, 0.330e-3, 6.71e-4, 6000.0, 0.58},
  {329.6276, 0.254e-3, 0.254e-3, 3.98e-4, 7000.0, 0.38},
};

double
string_speed_m_s(const string_gauge* g)
{
  return 2.0 * SCALE_M * g->open_hz;
}

double
string_tension_n(const string_gauge* g)
{
  const double c = string_speed_m_s(g);
  return g->kg_per_m * c * c;
}

double
string_impedance(const string_gauge* g)
{
  return g->kg_per_m * string_speed_m_s(g);
}

double
string_inharmonicity(const string_gauge* g, double f1_hz)
{
  const double length_m = SCALE_M * g->open_hz / f1_hz;
  const double d2       = g->core_m * g->core_m;
  return RP_PI * RP_PI * RP_PI * STEEL_PA * d2 * d2 /
         (64.0 * string_tension_n(g) * length_m * length_m);
}

double
string_support_s_kg(double f_hz)
{
  // Frequencies, widths and heights are our choice
  static const struct {
    double f_hz, q, height;
  } MODES[] = {{118.0, 14.0, 1.6},
               {207.0, 18.0, 2.4},
               {415.0, 22.0, 2.0},
               {640.0, 25.0, 1.2}};

  double g = 1.0;
  for (uint32_t i = 0; f_hz > 0.0 && i < sizeof(MODES) / sizeof(MODES[0]);
       ++i) {
    const double x = f_hz / MODES[i].f_hz;
    const double d = MODES[i].q * (x - 1.0 / x);
    g += MODES[i].height / (1.0 + d * d);
  }
  return g * SUPPORT_S_KG;
}

double
string_loss_rate(const string_gauge* g,
                 double              f1_hz,
                 double              f_hz,
                 double              support_s_kg)
{
  const double layer = sqrt(RP_PI * AIR_VISCOSITY * AIR_DENSITY * f_hz);
  const double air   = RP_PI * (AIR_VISCOSITY + g->outside_m * layer);
  return air / g->kg_per_m + RP_PI * f_hz / g->q +
         2.0 * f1_hz * string_impedance(g) * support_s_kg;
}
