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
/// of nominal, and settles with time constants of 80 to 240 ms.
///
/// A guitar in standard tuning loses a part of its fundamentals: little of a
/// held note, more of its attack, whose spectrum is wider than the notch.  In
/// dB, from 20 to 120 ms after the onset of a sine, and held:
///
/// | 50 Hz  | G2  | G#2 | D3  | D#3 | G3  | B3  | D4  | F4   |
/// | attack | 4.9 | 2.3 | 3.5 | 0.9 | 2.7 | 4.6 | 1.1 | 11.4 |
/// | held   | 0.7 | 0   | 0.3 | 0   | 0.2 | 1.1 | 0   | all  |
///
/// | 60 Hz  | A#2 | B2  | F3  | F#3 | D4  | G#4 |
/// | attack | 2.6 | 2.6 | 1.0 | 1.3 | 0.8 | 2.5 |
/// | held   | 0   | 0   | 0   | 0   | 0   | 0   |
///
/// F4 is 0.8 Hz from the seventh harmonic of 50 Hz.  All others lose 0.1 dB or
/// less held, 0.4 dB or less in the attack.
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
