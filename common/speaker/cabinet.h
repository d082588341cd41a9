// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// What cone, box and microphone do to the sound, after the moving coil.
///
/// Two broad bells, 450 Hz -3 dB Q 0.8 and 2.6 kHz +6 dB Q 1.2, stand for the
/// hollow and the presence of guitar loudspeakers (common practice); for
/// another size than 12 inch they go with 1 / diameter.  What makes a cone
/// ragged and ends its band is tabulated per size in cone_curve.h: the dip of
/// its edge, modes, the resonance of the dust cap, and a fourth-order low-pass.
/// The sections are matched, so that the curve is the same at any rate; at a
/// low rate, what lies above Nyquist leaves the rest as it is.
///
/// Played hard, the presence bell rises and the low-pass falls.  The cap, which
/// sits on the coil, stays.
///
/// A microphone off the axis adds a shelf of 10 lg((D^2 + 0.1) / 1.1) dB with D
/// = 2 J1(x) / x of a rigid piston and x = k a sin(angle): modes fill the nulls
/// to -10 dB.  13, 30, 45, 65 degrees: -0.8, -4.1, -7.9, -10.3 dB.  k a is 4,
/// as the part of the cone that moves as one shrinks with frequency above its
/// ring frequency; the law lies between the far field, which falls earlier, and
/// 5 cm (computed with the shell model of cone_curve.h).  An open back adds the
/// wave from the rear of the cone, delayed by the way around the cabinet and
/// weakened by distance: p = front - r / (r + D) rear(t - D / c), with a
/// low-pass for the spread of the ways.  Close to the cone that is little; the
/// rest belongs to the room.  (H. F. Olson, "Acoustical Engineering", 1957,
/// from memory; the close form derived from it.)
///
/// Real-time safe.

#ifndef COMMON_SPEAKER_CABINET_H
#define COMMON_SPEAKER_CABINET_H

#include "common/core/delay.h"
#include "common/filters/svf.h"
#include "cone_curve.h"
#include "moving_design.h"

/// Way around the cabinet: 0.5 m for 12 inch
#define CABINET_AROUND_MM 500
/// From the microphone to the cone
#define CABINET_MIC_M 0.05

/// Room for the way around 15 inch at DSP_MAX_RATE_HZ, 700 frames
#define CABINET_LINE 1024

/// Angle of the microphone at "off axis 100 %"
#define CABINET_MAX_ANGLE 65.0

/// Most that the low-pass may fall
#define CABINET_MAX_FALL_OCT 0.6

/// Sections in the order in which they run
enum {
  CABINET_LOWER,
  CABINET_EDGE,
  CABINET_MODE_1,
  CABINET_MODE_2,
  CABINET_MODE_3,
  CABINET_CAP,
  CABINET_MICROPHONE,
  CABINET_PRESENCE,
  CABINET_LOW_PASS_1,
  CABINET_LOW_PASS_2,
  CABINET_SECTIONS,
};

/// Four sections make a register of one channel, so the last two lanes idle
#define CABINET_LANES 12

/// Coefficients of all sections, which lie side by side
enum { CABINET_B0, CABINET_B1, CABINET_B2, CABINET_A1, CABINET_A2, CABINET_N };

typedef struct {
  double of[CABINET_N][CABINET_LANES];
} cabinet_filters;

/// Targets on a grid line
typedef struct {
  double lift_db;  ///< Lift of the presence bell
  double fall_oct; ///< Fall of the low-pass, 0 to CABINET_MAX_FALL_OCT
  double off_axis; ///< Place of the microphone, 0 to 1
} cabinet_line;

/// b0, b1, a1, a2 of the two sections of the low-pass
#define CABINET_FALLING 8

typedef struct {
  double    rate_hz;
  cone_size size;
  bool      is_open;

  double off_axis;
  double fallen[MOVING_DESIGN_PLACES][CABINET_FALLING]; ///< moving_design.h

  // On the coming frame, steps per frame, and on the next grid line
  cabinet_filters now, step, to;
  bool            microphone_moves;
  double share, share_step, share_to; ///< Share of the presence bell's effect

  /// Of the sections, in transposed direct form II
  double memory[2][MAX_CHANNELS][CABINET_LANES];

  // The wave from the rear
  float rear_frames;
  float rear_gain;
  float rear_share; ///< Of its low-pass
  float rear[MAX_CHANNELS];
  delay around[MAX_CHANNELS];
  float line[MAX_CHANNELS][CABINET_LINE];
} cabinet;

void
cabinet_init(cabinet* c, cone_size size, bool is_open, double rate_hz);

/// Forgets the signal
void
cabinet_reset(cabinet* c);

/// Jumps to `line`
void
cabinet_snap(cabinet* c, const cabinet_line* line);

/// Moves to `line` from this grid line to the next
void
cabinet_push(cabinet* c, const cabinet_line* line);

/// Processes `n` frames, up to the next grid line; out[k] may be in[k]
void
cabinet_process(cabinet*            c,
                const float* const* in,
                float* const*       out,
                uint32_t            n_channels,
                uint32_t            n);

#endif // COMMON_SPEAKER_CABINET_H
