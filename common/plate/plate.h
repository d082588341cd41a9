// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// The steel plate: its modes, and how they take and give sound.
///
/// Thin plate (Kirchhoff-Love), simply supported: mode (m, n) has the shape
/// sin(m pi x / L) sin(n pi y / W) and the frequency
///
///   f = (pi / 2) kappa ((m / L)^2 + (n / W)^2),
///   kappa = h sqrt(E / (12 rho (1 - nu^2)))
///
/// (J. Woodhouse, "Euphonics", sections 3.2.3 and 3.2.4).  Steel as in EN
/// 1993-1-1 3.2.6 and EN 1991-1-1 table A.4.  2.000 m by 1.013 m by 0.5 mm: not
/// 2 to 1, where half of all modes would coincide.  Density: 1.29 modes per Hz.
///
/// The plate is driven at one point and heard at two, which all avoid the
/// nodal lines of low modes (our choice).  Two inputs drive it at this point
/// and at the one opposite, half a turn about the centre away: the first input
/// in phase, the second out of phase.  Equal inputs cancel at the opposite
/// point, so that two equal channels are one drive at one point; and each input
/// alone drives the modes of one symmetry.
///
/// Pick-ups read velocity, the quantity whose mean over many modes is flat (L.
/// Cremer, M. Heckl, "Structure-Borne Sound", the point mobility of a plate,
/// from memory).
///
/// Real plates are not perfect rectangles; on one that is, waves refocus for
/// half a second.  Modes are detuned at random, with a standard deviation of 1
/// Hz from 300 Hz up (our choice), always the same way.

#ifndef COMMON_PLATE_PLATE_H
#define COMMON_PLATE_PLATE_H

#include "plate_modes.h"

#define PLATE_LENGTH_M    2.000
#define PLATE_WIDTH_M     1.013
#define PLATE_THICKNESS_M 0.0005

/// Modes that are used
#define PLATE_LOW_HZ  20.0
#define PLATE_HIGH_HZ 10000.0

/// Returns kappa, in m^2/s
double
plate_stiffness(void);

/// Returns the frequency of mode (m, n), both from 1, without detuning
double
plate_mode_hz(uint32_t m, uint32_t n);

/// Visits the modes between PLATE_LOW_HZ and PLATE_HIGH_HZ or `limit_hz`, for
/// plate_modes_init().  Gains are for velocity per velocity far from the
/// boundary: plate_level() turns them into a level.
void
plate_list_modes(double limit_hz, plate_mode_visit visit, void* to);

/// Returns the gain before the plate at `rate_hz` that gives pink noise from
/// 100 Hz to 5 kHz the same level at each output as at the input, once it is
/// steady: decay then changes the length of the sound and not its level.
/// Real-time safe.
double
plate_level(const plate_decay* decay, double rate_hz);

#endif // COMMON_PLATE_PLATE_H
