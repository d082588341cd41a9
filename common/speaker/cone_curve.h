// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// What a paper cone does above 1 kHz, as sections of a filter for each size.
///
/// Where its ring frequency f_r(r) = sqrt(E / rho) cos(alpha) / (2 pi r) is
/// passed, a cone stops moving as one and bends, from the rim to the neck as
/// frequency rises (H. Frankort, "Vibration patterns and radiation behaviour of
/// loudspeaker cones", Philips Technical Review 36, 1976, from memory): from
/// 1.3 to 7 kHz for 12 inch (E 2 GPa, rho 600 kg/m^3, alpha 57 degrees, from
/// memory).  Modes give it peaks and dips of 3 to 6 dB there; at about 4.7 kHz
/// / s, s the diameter over 12 inch, they end, and the response falls by 20 dB
/// within an octave.  It does not fall on: coil, neck and dust cap radiate, and
/// the cap has a resonance of its own near 12.5 kHz / sqrt(s).
///
/// The values were fitted to our shell model: a thin axisymmetric shell of
/// surround, cone, coil and cap, loss factor 0.06, radiating by the Rayleigh
/// integral; twelve specimens a size, with paper, shape, cap and coil varied.
/// Modes are too dense to be built one by one (seventeen from 1 to 5 kHz for 12
/// inch): each of three pairs of poles and zeros stands for a group of them,
/// its peak on one of the model.  Places of the dips and peaks differ by up to
/// 6 % from those of similar shapes, by chance and for each size: two cones are
/// never the same.  Depths were fitted to peaks and dips of 3 to 6 dB
/// (published curves of 10 to 15 inch cones, from memory), since specimens
/// differ.

#ifndef COMMON_SPEAKER_CONE_CURVE_H
#define COMMON_SPEAKER_CONE_CURVE_H

#include "common/filters/eq_pole_zero.h"
#include "cone.h"

#define CONE_CURVE_MODES 3

typedef struct {
  double       edge_hz, edge_db, edge_q; ///< A bell
  eq_pole_zero mode[CONE_CURVE_MODES];
  eq_pole_zero cap;         ///< Zero at the end of the modes
  double       low_pass_hz; ///< Fourth-order Butterworth, played softly
} cone_curve;

/// Returns the curve of a size, on the axis.  Constant data.
const cone_curve*
cone_curve_of(cone_size size);

#endif // COMMON_SPEAKER_CONE_CURVE_H
