// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Notches at the mains frequency and its harmonics, 1 to 8, in one bank.
///
/// A single two-pole notch cannot do it: at a distance d from its centre it
/// leaves |H|^2 = d^2 / (d^2 + h^2), h half its -3 dB width.  30 dB at 0.1 Hz
/// take h = 3.2 Hz, which costs 3.2 dB at 3 Hz; at the eighth harmonic, which
/// strays eight times as far as the mains, h = 25 Hz.  So each harmonic has an
/// inverse Chebyshev band-stop of 33 dB, of second order (two staggered
/// notches) up to the fifth and of third order (three) from the sixth on.  With
/// T the Chebyshev polynomial, s the half width of the stop band and
/// e^2 = 1 / (10^3.3 - 1),
///
///   |H|^2 = 1 / (1 + 1 / (e T_n(d / s))^2)
///
/// which is 1.5 dB down at 5.94 s (second order) and 2.69 s (third).
///
/// | harmonic         | 1    | 2    | 3    | 4    | 5    | 6 to 8 |
/// | stop band, +-Hz  | 0.20 | 0.27 | 0.34 | 0.40 | 0.47 | 0.97   |
/// | -1.5 dB, +-Hz    | 1.2  | 1.6  | 2.0  | 2.4  | 2.8  | 2.6    |
///
/// It takes 30 dB or more off every harmonic while the mains is within +-0.1 Hz
/// of nominal, and settles with time constants of 80 to 240 ms, so the attack
/// of a note passes.  Its cost to the notes of a guitar in standard tuning, in
/// dB of a held fundamental: at 50 Hz G2 0.7, D3 0.3, G3 0.2, B3 1.1, and F4,
/// 0.8 Hz from the seventh harmonic, all of it; at 60 Hz less than 0.1 on any.
///
/// The bank is written as a sum of one-pole resonators (partial fractions of
/// the product), so that they run side by side and a share of the hum may be
/// removed.  Processing is real-time safe; design is not for the audio thread.

#ifndef COMMON_FILTERS_HUM_NOTCH_H
#define COMMON_FILTERS_HUM_NOTCH_H

#include "svf.h"

#define HUM_HARMONICS 8
#define HUM_PAIRS     10 ///< Pairs of resonators: 19 are in use

/// The part that all channels share
typedef struct {
  double direct; ///< Share of the present frame that passes, minus 1
  f64x2  pole_re[HUM_PAIRS], pole_im[HUM_PAIRS];
  f64x2  part_re[HUM_PAIRS], part_im[HUM_PAIRS]; ///< Twice the residue
} hum_design;

typedef struct {
  f64x2 re[HUM_PAIRS], im[HUM_PAIRS];
} hum_memory;

/// Designs the notches for `mains_hz`, 50 or 60.  Not for the audio thread.
hum_design
hum_design_for(double mains_hz, double rate_hz);

/// Writes what has to be added to lane `k` of `x` to remove its hum.  `n` is at
/// most CONTROL_FRAMES.
void
hum_run(const hum_design* d,
        hum_memory*       m,
        const f64x2*      x,
        uint32_t          k,
        double*           minus_hum,
        uint32_t          n);

/// Returns the gain in dB at `f_hz`
double
hum_response_db(const hum_design* d, double f_hz, double rate_hz);

#endif // COMMON_FILTERS_HUM_NOTCH_H
