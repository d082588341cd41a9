// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// The metal of the strings: their mass, stiffness and losses.
///
/// Stiffness: f_n = n f0 sqrt(1 + B n^2), B = pi^3 E d^4 / (64 T L^2), d the
/// diameter of the plain string or of the core of a wound one (Fletcher and
/// Rossing, "The Physics of Musical Instruments", 2nd ed., Springer 1998,
/// eq. 2.67a) [from memory].
///
/// Losses: a sum of rates in 1/s after Valette and Cuesta, "Mecanique de la
/// corde vibrante", 1993, as used for the solid-body guitar by Pate, Le Carrou
/// and Fabre, J. Acoust. Soc. Am. 135(5), 2014 [from memory]: drag of the air
/// (2 pi eta + 2 pi d sqrt(pi eta rho f)) / (2 mu), friction inside the string
/// pi f / Q, and what the supports take away, 2 f0 Z G.  The Q and the
/// conductance G are our choice, within the range of such guitars.
///
/// Not for real time.  Everything is computed by repeatable.h.

#ifndef PRESETS_DEMO_GUITAR_STRING_DESIGN_H
#define PRESETS_DEMO_GUITAR_STRING_DESIGN_H

#include <stdint.h>

#define N_STRINGS 6
#define SCALE_M   0.648  ///< Bridge to nut
#define HANDS_HZ  1100.0 ///< Midpoint of the damping by hands; our choice
#define STEEL_PA  2.0e11 ///< Young's modulus

/// A string as sold.  Light set, 0.010 to 0.046 inch; gauges are common, the
/// masses and cores of the wound ones from memory.
typedef struct {
  double open_hz;   ///< First partial of the open string
  double outside_m; ///< Outer diameter
  double core_m;    ///< Core; the same for a plain string
  double kg_per_m;  ///< Mass per length
  double q;         ///< Of the internal friction
  double pole;      ///< Pickup output for a velocity of 1 m/s, arbitrary unit
} string_gauge;

/// Low E first
extern const string_gauge guitar_strings[N_STRINGS];

/// Tension in N at pitch, wave speed in m/s, impedance in kg/s
double
string_tension_n(const string_gauge* g);

double
string_speed_m_s(const string_gauge* g);

double
string_impedance(const string_gauge* g);

/// B of the string stopped so that its first partial is `f1_hz`
double
string_inharmonicity(const string_gauge* g, double f1_hz);

/// Conductance of the supports at `f_hz` in s/kg.  The neck bends in a few
/// modes, and notes on them die sooner: the dead spots of H. Fleischer and T.
/// Zwicker, "Mechanical Vibrations of Electric Guitars", Acustica 84, 1998
/// [from memory].  0 Hz gives the conductance between the modes.
double
string_support_s_kg(double f_hz);

/// Rate of decay in 1/s of a partial at `f_hz` of a string stopped at `f1_hz`:
/// amplitude exp(-rate t), hence T60 = 6.908 / rate
double
string_loss_rate(const string_gauge* g,
                 double              f1_hz,
                 double              f_hz,
                 double              support_s_kg);

/// Damping by hands, in 1/s on top of the string's own losses: `low` at the
/// lowest frequencies, `high` at the highest, halfway at HANDS_HZ.  The two
/// differ by 1.2 f1 at most.
typedef struct {
  double low, high;
} string_damping;

#endif // PRESETS_DEMO_GUITAR_STRING_DESIGN_H
