// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Lifts quiet sound and leaves loud sound and silence alone.
///
/// One gain, not a second path, so nothing can comb: 1 + k c e, where c falls
/// from 1 to 0 above a level and e falls from 1 to 0 below a floor.  Levels are
/// RMS, so the floor compares with what a level meter shows of the noise.
///
///   c = 1 / (1 + (v/T)^2)       e = v^4 / (v^4 + max(1, k) F^4)
///
/// (our choice).  Noise 12 dB below F rises by less than 0.05 dB at any lift.
/// With T above -36 dBFS playing at the alignment level would gain too: that
/// gain, computed from the settings, is removed, so that its loudness stays.
///
/// The detector listens above 120 Hz, so that mains hum does not open the lift,
/// and to the louder of linked channels.  For c it averages power over 10 ms
/// and holds it with a release of 60 ms; for e it averages over 60 ms and holds
/// nothing, because hum that buzzes, with a peak in every period, would
/// otherwise read louder than it is.  The lift then goes down in 1.6 ms and up
/// in 20 ms, so that no pick starts hot.  No latency.  Real-time safe.

#ifndef COMMON_DYNAMICS_DETAIL_LIFT_H
#define COMMON_DYNAMICS_DETAIL_LIFT_H

#include "common/core/glide.h"

/// Returns the share of the lift at a level: c e, 0 to 1.  Takes powers (mean
/// squares): the level that c sees and the one that e sees, T^2, and F^4.
static inline float
detail_lift_share(float power, float steady, float t2, float f4)
{
  const float p2 = steady * steady;
  return (t2 * p2) / ((t2 + power) * (p2 + f4));
}

/// Power level of the signal above 120 Hz
typedef struct {
  double b0, b1, b2, a1, a2; ///< High-pass
  double average, release;   ///< Shares per frame
  double slow, stay;         ///< For the steady level
  double s1[MAX_CHANNELS];   ///< Memory of the high-pass
  double s2[MAX_CHANNELS];
  double power, held;
  double steady; ///< Averaged for longer, not held
} detail_detector;

typedef struct {
  // Settings
  glide  lift_db, below_db, floor_db;
  double k, compensation, t2; ///< From the settings on the last grid line
  float  f4;
  ramp   threshold;    ///< t2
  ramp   base, amount; ///< compensation, compensation * k

  // Coefficients
  uint32_t n_channels;
  float    down, up;
  double   glide_share;

  // Memory
  detail_detector detector;
  float           share; ///< c e after its ballistics
} detail_lift;

void
detail_lift_init(detail_lift* l, double rate_hz, uint32_t n_channels);

/// `lift_db` 0 to 12; `below_db` and `floor_db` in dBFS RMS
void
detail_lift_set(detail_lift* l,
                double       lift_db,
                double       below_db,
                double       floor_db);

void
detail_lift_reset(detail_lift* l);

/// Takes a line of the control grid
void
detail_lift_control(detail_lift* l);

/// Writes the gains for `n` frames (at most CONTROL_FRAMES) of `in`
void
detail_lift_gains(detail_lift*        l,
                  const float* const* in,
                  float*              gain,
                  uint32_t            n);

/// Returns the lift in dB at the last frame
double
detail_lift_now_db(const detail_lift* l);

#endif // COMMON_DYNAMICS_DETAIL_LIFT_H
