// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Modes of the cone that answer at half the frequency that drives them.
///
/// The axial force of loud playing stiffens and softens the cone; a bell mode
/// whose frequency is half of the force's is pumped by that and starts to
/// swing by itself:
///
///   q'' + 2 zeta w0 q' + w0^2 (1 + h p(t)) q + w0^2 q^3 = eps w0^2 p(t)
///
/// With p = cos(2 w0 t) it is unstable for h > 4 zeta (L. D. Landau, E. M.
/// Lifshitz, "Mechanics", section 27, from memory); the cubic term ends the
/// growth.  Two modes, at 500 and 750 Hz for 12 inch, zeta 0.03; h is 0.25 at a
/// force of -6 dBFS peak played hard, so a tone of 1 or 1.5 kHz within 5 %
/// above about -12 dBFS starts them.  In the sound they are 24 dB or more below
/// what drives them.  That cones do this: P. O. Pedersen, J. Acoust. Soc. Am.
/// 6 and 7, 1935 (from memory).  Frequencies and depths are our choice.
///
/// Midpoint rule with the cubic term linearised, one division per frame, no
/// iteration; finite for any input.  Real-time safe.

#ifndef COMMON_SPEAKER_CONE_MODES_H
#define COMMON_SPEAKER_CONE_MODES_H

#include "common/core/lanes.h"
#include "cone.h"

#define CONE_MODES_ZETA 0.03

typedef struct {
  f64x2 a; ///< w0 T / 2 of both modes
  f64x2 q[MAX_CHANNELS];
  f64x2 r[MAX_CHANNELS]; ///< q' / w0
} cone_modes;

void
cone_modes_init(cone_modes* m, cone_size size, double rate_hz);

void
cone_modes_reset(cone_modes* m);

/// Adds the response of the modes to `n` frames of each channel, in place.
/// hard: how hard each is played; share: how much is added, both 0 to 1.
void
cone_modes_process(cone_modes*   m,
                   const float*  hard,
                   const float*  share,
                   float* const* x,
                   uint32_t      n_channels,
                   uint32_t      n);

#endif // COMMON_SPEAKER_CONE_MODES_H
