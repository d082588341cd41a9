// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// From linked inputs to a gain reduction per frame: level, static curve,
/// timing, smoothing.
///
/// Feed-forward in dB, smoothed after the curve (gain_computer.h, follower.h).
/// With manual times the level is that of each frame, so that the times are
/// those set.  With programme times (crest_timing.h) it is the power of the
/// last 5 ms, read as a sine's peak: that follows loudness and not the crest of
/// the waveform, which differs by some dB between one string and six.  No
/// look-ahead, no latency.  Real-time safe.

#ifndef COMMON_DYNAMICS_GAIN_CELL_H
#define COMMON_DYNAMICS_GAIN_CELL_H

#include "common/core/glide.h"
#include "common/filters/one_pole.h"
#include "crest_timing.h"
#include "follower.h"

/// A programme meter's return: 20 dB in 1.7 s (IEC 60268-10, type I; from
/// memory)
#define GAIN_CELL_FALL_DB_PER_S (20.0 / 1.7)

typedef struct {
  double           threshold_db; ///< dBFS of a sine's peak
  double           slope;        ///< See gain_computer_slope()
  double           knee_db;
  bool             is_programme;
  compressor_times manual;
} gain_cell_settings;

typedef struct {
  double   rate_hz;
  uint32_t n_channels;
  float    peak_keep; ///< Of the peak, from one grid line to the next
  double   glide_share;
  one_pole smoothing; ///< For the squares

  // Settings
  bool   is_programme;
  double manual_attack, manual_release; ///< Shares per frame
  glide  threshold_db, slope, knee_db;
  glide  averaging; ///< 1 with programme times, else 0
  ramp   threshold, curve_slope, knee, averaged;

  // Memory
  crest_timing    timing;
  float           squares[CONTROL_FRAMES]; ///< Squares since the last grid line
  uint32_t        n_squares;
  float           peak_power;      ///< See gain_cell_peak_db()
  double          attack, release; ///< Present shares
  one_pole_memory mean;            ///< Mean square
  follower        reduction;
} gain_cell;

void
gain_cell_init(gain_cell* g, double rate_hz, uint32_t n_channels);

void
gain_cell_set(gain_cell* g, const gain_cell_settings* s);

void
gain_cell_reset(gain_cell* g);

/// Takes a line of the control grid
void
gain_cell_control(gain_cell* g);

/// Writes, for `n` frames (at most CONTROL_FRAMES), the reduction and how much
/// of it the attack has not caught up with yet, both in dB, 0 or more
void
gain_cell_run(gain_cell*          g,
              const float* const* in,
              float*              reduction_db,
              float*              lack_db,
              uint32_t            n);

/// Returns the highest level that the threshold has seen, in dBFS of a sine's
/// peak, -120 or more.  It rises at once and falls by GAIN_CELL_FALL_DB_PER_S,
/// so that who reads it 30 times a second misses 0.4 dB at most.
double
gain_cell_peak_db(const gain_cell* g);

#endif // COMMON_DYNAMICS_GAIN_CELL_H
