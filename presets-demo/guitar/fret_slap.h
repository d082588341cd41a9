// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Frets under a string, which a hard stroke throws against them.
///
/// A barrier in the waveguide, as in E. Rank and G. Kubin, "A Waveguide Model
/// for Slapbass Synthesis", ICASSP 1997, and G. Evangelista and F. Eckerholm,
/// "Player-Instrument Interaction Models for Digital Waveguide Synthesis of
/// Guitar: Touch and Collisions", IEEE Trans. Audio Speech Lang. Proc. 18(4),
/// 2010; the fret gives and loses like the spring and damper of S. Bilbao and
/// A. Torin, "Numerical Modeling and Sound Synthesis for Articulated
/// String/Fretboard Interactions", JAES 63(5), 2015 [all from memory].  The
/// displacement over a fret is the integral of the velocity there; where it
/// passes the clearance, the force of the contact is solved for in closed form,
/// so that it can never add energy.
///
/// Lengths in m, velocities in m/s.  Real-time safe, though that is not needed
/// here.  Same bits on every machine (repeatable.h).

#ifndef PRESETS_DEMO_GUITAR_FRET_SLAP_H
#define PRESETS_DEMO_GUITAR_FRET_SLAP_H

#include "string_wave.h"

#define FRET_CONTACTS 7

typedef struct {
  uint32_t frames; ///< From the bridge, to the nearest whole frame
  double   clearance_m;
  double   place_m; ///< Displacement of the string, away from the frets
} fret_contact;

typedef struct {
  uint32_t     n;
  fret_contact at[FRET_CONTACTS];
  double       rate_hz;
  double       stiffness;  ///< Of the contact, in m/s per m
  double       resistance; ///< Re that of the string
  int32_t      awake;      ///< Frames until the string cannot reach a fret
} fretboard;

/// The string is stopped at `fret` and at rest
void
fretboard_stop(fretboard*          b,
               const string_gauge* gauge,
               double              fret,
               double              rate_hz);

/// Stops both waves of a string where it touches frets, one frame.  `axis` is
/// the share of each in the motion towards the frets.
void
fretboard_touch(fretboard*    b,
                string_wave*  wave,
                const double* axis,
                uint32_t      at);

#endif // PRESETS_DEMO_GUITAR_FRET_SLAP_H
