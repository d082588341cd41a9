// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Downward expander for pauses: turns noise down while nobody plays, and
/// leaves playing alone.
///
/// Static curve: the compressor's (gain_computer.h) upside down, ratio 1:3, a
/// quadratic knee of W = 6 dB that ends at the threshold T, and a floor at
/// `pause_db`.  With u = T - level, in dB:
///
///   reduction = 0 up to u = 0, u^2 / W up to W, 2 u - W above,
///               `pause_db` at most
///
/// A low string that fades at 8 dB a second (T60 7.5 s) takes more than a
/// second to cross it: its end is a fade, not a cut.
///
/// The detector has to tell the end of a note from noise.  A note ends with its
/// lowest partials; hiss is spread up to Nyquist; rumble and the first partial
/// of hum lie below the lowest string.  So it hears power from 70 Hz to 2 kHz
/// (Butterworth, second order): white noise at 48 kHz reads 10.4 dB lower than
/// it is, a fundamental from 110 Hz to 1.3 kHz within 0.8 dB.  Harmonics of hum
/// it cannot tell from a note: notch them before (hum_notch.h), or set the
/// threshold above them.
///
/// It averages power twice.  The average over 15 ms is the level: neither the
/// waveform nor hiss moves it much.  The one over 2 ms opens for a pick, which
/// is some 40 dB above the threshold within its first frames; it counts 6 dB
/// lower, so that the peaks of hiss or of hum that buzzes do not open.
///
/// Three things keep it from chattering.  Play of 4 dB in the level, as in a
/// gear (a backlash, one of the models of hysteresis): it goes up at once, and
/// down only by what exceeds 4 dB, so that smaller movements move nothing and a
/// note closes 4 dB below where it opens.  A hold: the highest gain asked for
/// in this span of 75 ms and the one before counts, which bridges beats from
/// 5 Hz up even where they leave nothing.  And a fall of 100 dB a second at
/// most; a palm mute falls faster.  Gates hold 50 to 100 ms and release within
/// 100 to 300 (common practice).  After a stop from -18 dBFS, 20 dB with T at
/// -60 are down after half a second.
///
/// It opens by two one-poles of 0.12 ms in series on the gain, whose slope then
/// has no step: 90 % in 0.7 ms.  Of a string that is loudest at once it takes
/// 0.8 dB of the energy of the first 2 ms, from 20 dB down, and nothing after.
/// Shorter ones take less and can be heard above 4 kHz.  No look-ahead, no
/// latency.
///
/// The louder of linked channels decides.  All times are in seconds and all
/// work is per frame: the same at any rate and for any cut into blocks.
/// Real-time safe.  At a `pause_db` of 0 `is_on` is false and nothing runs.

#ifndef COMMON_DYNAMICS_PAUSE_EXPANDER_H
#define COMMON_DYNAMICS_PAUSE_EXPANDER_H

#include "common/core/glide.h"
#include "common/filters/svf.h"

/// The highest gain asked for in the span before and in this one, and what
/// falls down to it
typedef struct {
  double   past, now, gain;
  uint32_t left; ///< Frames of this span
} pause_hold;

typedef struct {
  bool is_on; ///< Turns anything down, or is on its way from or to that

  // Settings
  glide pause_db, below_db;
  ramp  range, threshold; ///< Of the same, in dB

  // Coefficients
  uint32_t n_channels;
  uint32_t hold_frames;
  double   glide_share;
  double   fast, slow; ///< Shares per frame
  double   fall;       ///< Factor of the gain per frame
  double   open;       ///< Share per frame

  // Memory
  svf        key[2];
  double     fast_power, slow_power, level; ///< `level`: power behind the play
  pause_hold hold;
  double     y1, y; ///< After the two one-poles; the last is the gain
} pause_expander;

/// Returns the reduction in dB, 0 or more, of a level `under_db` below the
/// threshold
float
pause_expander_reduction_db(float under_db, float pause_db);

void
pause_expander_init(pause_expander* e, double rate_hz, uint32_t n_channels);

/// `pause_db` 0 (off) or more; `below_db` is the threshold, in dBFS RMS
void
pause_expander_set(pause_expander* e, double pause_db, double below_db);

/// Jumps to the settings and forgets the signal: closed, as in silence
void
pause_expander_reset(pause_expander* e);

/// Takes a line of the control grid
void
pause_expander_control(pause_expander* e);

/// Turns `n` frames (1 to CONTROL_FRAMES, not across a grid line) down in
/// place; lane 1 is ignored in mono.  Call while `is_on`.
void
pause_expander_run(pause_expander* e, f64x2* x, uint32_t n);

#endif // COMMON_DYNAMICS_PAUSE_EXPANDER_H
