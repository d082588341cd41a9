// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// The first wave on the plate: high frequencies arrive first.
///
/// A bending wave of frequency f needs d / (2 sqrt(2 pi f kappa)) for a
/// distance d (J. Woodhouse, "Euphonics", section 4.3.3; group speed twice the
/// phase speed).  A chain of first-order all-passes with real poles
///
///   p_k = (pi (k - 1/2) / (sqrt(2) C))^2,   C = d / (2 sqrt(kappa))
///
/// delays like that: a density of poles of C / (sqrt(2) pi) p^(-1/2) per rad/s
/// gives the delay C w^(-1/2), by the integral of u^(1/2) / (1 + u^2), pi /
/// sqrt(2) (our own derivation).  Poles beyond the band are replaced by their
/// delay.  Within 4 % from 60 Hz to 6 kHz, 0.1 ms late at 10 kHz (computed).
///
/// Two chains side by side, for two outputs at their distances.  Each section
/// works one frame behind the one before it, so that none has to wait; the
/// delay that is needed anyway makes room for it.  Real-time safe.

#ifndef COMMON_PLATE_PLATE_CHIRP_H
#define COMMON_PLATE_PLATE_CHIRP_H

#include "common/core/lanes.h"
#include "common/reverb/tap_line.h"

/// Sections per chain, in two halves
#define PLATE_CHIRP_SECTIONS 40
#define PLATE_CHIRP_STEPS    (PLATE_CHIRP_SECTIONS / 2)

/// Room for the delay at DSP_MAX_RATE_HZ and a block
#define PLATE_CHIRP_FRAMES 1024

_Static_assert(DELAY_HOLDS(PLATE_CHIRP_FRAMES, 0), "A power of two");

typedef struct {
  /// Lanes: left and right of the first half, left and right of the second
  f32x4    pole[PLATE_CHIRP_STEPS], memory[PLATE_CHIRP_STEPS];
  f32x4    last[PLATE_CHIRP_STEPS]; ///< Last output of each section
  uint32_t frames[2];               ///< Delay after each chain
  tap_line past[2];
  float    line[2][PLATE_CHIRP_FRAMES + CONTROL_FRAMES];
} plate_chirp;

/// Prepares both chains; `distance_m` of each.  False if a delay does not fit
/// into its line.
bool
plate_chirp_init(plate_chirp* c, double rate_hz, const double* distance_m);

void
plate_chirp_reset(plate_chirp* c);

/// Processes `n` frames, up to the next grid line, in place
void
plate_chirp_process(plate_chirp* c, float* left, float* right, uint32_t n);

#endif // COMMON_PLATE_PLATE_CHIRP_H
