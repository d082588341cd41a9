// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Cone breakup: a saturator with a resonator in a loop around it.
///
///   d = drive * w + feedback * resonator(y),   y = saturator(d)
///
/// The saturator is d / sqrt(1 + d^2) with first-order antiderivative
/// antialiasing, which for this curve needs no division by a difference:
/// y = (d1 + d0) / (F1 + F0), F = sqrt(1 + d^2).  It never gains: |y| < 1, and
/// its energy is at most that of d.
///
/// The resonator stands for the band-pass 1 / (1 + j Q (f/f0 - f0/f)), Q 1.5.
/// It is designed as the strictly causal filter
///
///   z^-u (1 - 1/z) (n0 + n1/z) / (1 + a1/z + a2/z^2)
///
/// that together with the half sample of the saturator agrees with the
/// band-pass at f0 in gain, phase and the slope of both.  So the loop is free
/// of delay where it resonates (its gain there is 1 / (1 - feedback) exactly),
/// nothing has to be solved per sample, and u samples are independent of each
/// other, so u samples can be computed in parallel.  u is 1, 2 or 4 samples, at
/// most 23 microseconds.
///
/// Stable by the small-gain theorem: the resonator's greatest gain is 1.019 at
/// any rate and frequency in use (the test sweeps them), the saturator's is 1,
/// feedback is at most 0.95.  A moving resonator is bounded all the same, since
/// y is.
///
/// Antialiasing: J. Parker, V. Zavalishin, E. Le Bivic, DAFx-16 (from memory).

#ifndef COMMON_SPEAKER_BREAKUP_H
#define COMMON_SPEAKER_BREAKUP_H

#include "common/core/lanes.h"
#include "common/filters/oversample.h"
#include "moving_design.h"

#define BREAKUP_Q            1.5
#define BREAKUP_MAX_FEEDBACK 0.95
#define BREAKUP_MAX_FALL_OCT 1.0

/// u + 2, rounded up for alignment
#define BREAKUP_HISTORY 8

/// 1 + a1 + a2, a2, n0, n1
#define BREAKUP_COEFS 4

/// Rows of the matrix that makes four samples of the resonator
/// (breakup_lanes.c)
enum {
  BREAKUP_OF_R,
  BREAKUP_OF_DR,
  BREAKUP_OF_Y5,
  BREAKUP_OF_Y6,
  BREAKUP_OF_Y,
  BREAKUP_DR_OF_Y = BREAKUP_OF_Y + 4,
  BREAKUP_DR_OF,
  BREAKUP_ROWS,
};

typedef struct {
  f32x4 row[BREAKUP_ROWS];
} breakup_matrix;

/// Signal memory of one channel
typedef struct {
  float r, dr;              ///< Output of the resonator, its step
  float d, f;               ///< d and F of the last sample
  float y[BREAKUP_HISTORY]; ///< The last outputs
} breakup_memory;

typedef struct {
  double   rate_hz; ///< Inner rate
  uint32_t factor;  ///< Inner samples per frame
  uint32_t delay;   ///< u

  // The resonator on the last grid line and the next, and per frame between
  double fallen[MOVING_DESIGN_PLACES][BREAKUP_COEFS]; ///< moving_design.h
  double now[BREAKUP_COEFS], to[BREAKUP_COEFS], step[BREAKUP_COEFS];
  breakup_matrix matrix_now, matrix_to, matrix_step; ///< The same if u is 4
  uint32_t       phase; ///< Frames since the last grid line

  breakup_memory memory[MAX_CHANNELS];
} breakup;

/// The moving parameters of a block: one value per frame, reached at its last
/// sample from the value before.  Pass arrays with that value at index -1.
typedef struct {
  const float* drive;    ///< Into the saturator
  const float* dry;      ///< Gain of the input in the sum
  const float* wet;      ///< Gain of the loop's output in the sum
  const float* feedback; ///< 0 to BREAKUP_MAX_FEEDBACK; steps per frame
} breakup_moves;

/// Designs the resonator, (1 + a1 + a2, a2, n0, n1), for a centre frequency of
/// at most a tenth of the rate
void
breakup_design(double f0_hz, uint32_t delay, double rate_hz, double coefs[4]);

/// Returns u for a factor and an outer rate
uint32_t
breakup_delay(uint32_t factor, double outer_rate_hz);

void
breakup_init(breakup* b, uint32_t factor, double outer_rate_hz);

void
breakup_reset(breakup* b);

/// Sets the resonance at rest.  Slow: as many designs as moving_design.h has
/// places.  Heard from the next push on.
void
breakup_set_resonance(breakup* b, double f0_hz);

/// Jumps to `fall_oct` below it, 0 to BREAKUP_MAX_FALL_OCT
void
breakup_snap(breakup* b, double fall_oct);

/// Moves there from this grid line to the next
void
breakup_push(breakup* b, double fall_oct);

/// Runs n frames, n * factor samples of each channel, in place, up to the next
/// grid line
void
breakup_process(breakup*             b,
                const breakup_moves* moves,
                float* const*        samples,
                uint32_t             n_channels,
                uint32_t             n);

/// Does the same while `wet` is 0 throughout, at next to no cost: only the dry
/// gain.  The loop forgets its signal meanwhile.
void
breakup_pass(breakup*             b,
             const breakup_moves* moves,
             float* const*        samples,
             uint32_t             n_channels,
             uint32_t             n);

#endif // COMMON_SPEAKER_BREAKUP_H
