// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Loudspeakers of four sizes, as sets of parameters that belong together.
///
/// The 12 inch set is our choice, within the range that textbooks give for
/// instrument loudspeakers.  The others follow from it by four laws, with the
/// scale s = diameter / 12 inch:
///
///   same paper           moving mass s^2 (area), radius s
///   same suspension      stiffness 1, so the resonance goes with 1 / s
///   same damping         Qms, Qes 1, so resistance s, force factor sqrt(s)
///   same turns of wire   inductances s (diameter of the coil); resistance 1
///
/// The limits of travel go with s (similar shapes).  Frequencies of the cone's
/// own modes go with 1 / s, as the ring frequency of its paper does:
/// sqrt(E / rho) cos(a) / (2 pi r).
///
/// Small-signal parameters: R. H. Small, "Direct-Radiator Loudspeaker System
/// Analysis", J. Audio Eng. Soc. 20(5), 1972.

#ifndef COMMON_SPEAKER_CONE_H
#define COMMON_SPEAKER_CONE_H

#include "motor.h"

typedef enum {
  CONE_8_INCH,
  CONE_10_INCH,
  CONE_12_INCH,
  CONE_15_INCH,
} cone_size;

/// Returns the diameter over 12 inch
double
cone_scale(cone_size size);

/// Returns the driver in its box: closed adds the spring of the air behind it
/// (compliance ratio 0.35, our choice), open does not
motor_driver
cone_driver(cone_size size, bool is_open);

/// Returns the response of a rigid piston in a baffle, off its axis re on it,
/// in dB: 2 J1(x) / x for x = k a sin(angle), 0 to 12.  J. Eargle,
/// "Electroacoustical Reference Data" (1994), section 35.
double
cone_piston_db(double x);

#endif // COMMON_SPEAKER_CONE_H
