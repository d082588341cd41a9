// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// The losses of one pass over a tape at high frequencies, and the filter for
/// them.
///
/// Spacing loss: R. L. Wallace, "The reproduction of magnetically recorded
/// signals", Bell System Technical Journal 30 (1951) 1145.  Gap loss: J.
/// Eargle, "Electroacoustical Reference Data", 1994, sec. 167.  The loss to
/// the thickness of the tape is left out, because the playback equaliser
/// (IEC 1, 70 us) nearly cancels it: at 19 cm/s and 10 kHz 12.1 dB against
/// 12.3 (computed).

#ifndef COMMON_TAPE_TAPE_PASS_H
#define COMMON_TAPE_TAPE_PASS_H

#include "common/core/dsp.h"

#define TAPE_SPEED_M_S 0.1905
#define TAPE_SPACING_M 1e-6
#define TAPE_GAP_M     3e-6

/// Returns the loss in dB, above 0: 54.6 d / lambda
double
tape_spacing_loss_db(double f_hz, double spacing_m, double speed_m_s);

/// Returns the loss in dB, above 0, below the first null: sin(x) / x with
/// x = 1.11 pi g / lambda
double
tape_gap_loss_db(double f_hz, double gap_m, double speed_m_s);

/// Taps of one pass at 48 kHz; more at higher rates, in proportion
#define TAPE_TAPS     31
#define TAPE_MAX_TAPS 255

/// Linear-phase filter of one pass, symmetrical.  Within 0.1 dB of the losses
/// from 1 to 20 kHz; its gain is above 1 at no frequency.
typedef struct {
  uint32_t n; ///< Odd, at most TAPE_MAX_TAPS
  float    tap[TAPE_MAX_TAPS];
} tape_pass;

/// Low-passes beside the losses
typedef struct {
  double playback_hz; ///< Second-order Butterworth; 0 is none
  double nothing_hz;  ///< Nothing is left from here on; 0 is no such limit
} tape_limits;

/// Designs the filter.  Not real-time safe: some milliseconds at high rates
void
tape_pass_init(tape_pass* p, tape_limits limits, double rate_hz);

/// Returns the gain of a filter at `f_hz`
double
tape_pass_gain(const tape_pass* p, double f_hz, double rate_hz);

#endif // COMMON_TAPE_TAPE_PASS_H
