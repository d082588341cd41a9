// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// A short, bright tape echo that thickens the guitar without mud.
///
/// The input and the repeats are recorded on tape (tape_record.h) and come back
/// after the delay (tape_line.h).  The audible echo has no bass, so that dry
/// and wet comb only where picks and strings are, and a lift above 3 kHz
/// against the losses of the tape.  Every round saturates and loses treble
/// again.  A round never gains: saturation has a slope of at most 1, the losses
/// and the high-pass a gain of at most 1, and repeats stop at 90 %.
///
/// At 0 dB drive full level (3 % third harmonic) is 12 dB above playing at
/// -18 dBFS RMS, at 24 dB 12 dB below.  The loss of such playing by saturation
/// is made up after the tape, within 1 LU: (1 + 12 r^2)^0.345 for the RMS level
/// r at the tangent, fitted to what the demo's guitars lose.  (A Gaussian
/// signal in an error function of the same slope loses sqrt(1 + pi/2 r^2), J.
/// J. Bussgang, 1952: up to 4 dB less.)  Channels share the transport, and
/// saturation does not move the image (balance.h).  Latency 0: the dry signal
/// is the input itself.

#ifndef COMMON_STAGES_THICKENING_ECHO_H
#define COMMON_STAGES_THICKENING_ECHO_H

#include "common/core/balance.h"
#include "common/core/stage.h"
#include "common/filters/infra_cut.h"
#include "common/filters/svf.h"
#include "common/tape/tape_line.h"
#include "common/tape/tape_record.h"

#define THICKENING_ECHO_PARAMS(NUM, TOG, SEL)                                \
  NUM(time_ms, "Time", MS, 5, 34, 250, LOG,                                  \
      "Delay of the echo: up to 10 ms it colours, at 20 to 40 ms it "        \
      "doubles, beyond 50 ms it is heard on its own.")                       \
  NUM(repeats_pc, "Repeats", PC, 0, 12, 90, LIN,                             \
      "Share of each echo that is fed back.")                                \
  NUM(low_cut_hz, "Low cut", HZ, 20, 700, 2000, LOG,                         \
      "High-pass of the echo, 12 dB per octave: keeps it clear of the "      \
      "guitar's body.")                                                      \
  NUM(lift_db, "Lift", DB, 0, 4, 12, LIN, "Boost of the echo above 3 kHz.")  \
  NUM(drive_db, "Drive", DB, 0, 6, 24, LIN,                                  \
      "Recording level on the tape; the level of the echo stays the same.")  \
  NUM(flutter_pc, "Flutter", PC, 0, 0.15F, 1, LIN,                           \
      "Weighted speed error of the transport, as a flutter meter shows it.") \
  NUM(wet_db, "Wet", DB, -60, -9, 6, LIN,                                    \
      "Level of the echo relative to the dry signal; -60 dB is off.")        \
  SEL(dry, "Dry", 0, 2, "pass|mute", "Pass on an insert, mute on a send.")

/// log2 Hz, dB, and gains
#define THICKENING_ECHO_GLIDES(GLIDE, SLOW)    \
  GLIDE(repeats, pc_to_share(p->repeats_pc))   \
  GLIDE(low_cut, hz_to_octaves(p->low_cut_hz)) \
  GLIDE(lift, (double)p->lift_db)              \
  GLIDE(drive, (double)p->drive_db)            \
  GLIDE(wet, gain_of_wet((double)p->wet_db))   \
  GLIDE(dry, p->dry > 0.0f ? 0.0 : 1.0)

PARAMS_DECLARE(thickening_echo, THICKENING_ECHO_PARAMS)

/// Flat state
typedef struct {
  double   rate_hz;
  uint32_t n_channels;

  tape_machine machine;
  tape_track   track[MAX_CHANNELS];
  balance      even; ///< Around the recording
  uint32_t     record_frames;
  tape_line    line;
  one_pole     rumble; ///< Low-pass that makes the high-pass in the loop

  one_pole_memory rumble_low[MAX_CHANNELS];

  GLIDES_FIELDS(THICKENING_ECHO_GLIDES)
  svf              tone[2]; ///< Low cut, lift
  infra_cut        head;    ///< A playback head gives nothing below 20 Hz
  infra_cut_memory below[MAX_CHANNELS];
  ramp             in_gain, out_gain; ///< Before and after the tape
  ramp             repeats_gain, wet_gain, dry_gain;
} thickening_echo;

bool
thickening_echo_init(thickening_echo* s, double rate_hz, uint32_t n_channels);

void
thickening_echo_set(thickening_echo* s, const thickening_echo_params* p);

void
thickening_echo_reset(thickening_echo* s);

void
thickening_echo_control(thickening_echo* s);

void
thickening_echo_process(thickening_echo*    s,
                        const float* const* in,
                        float* const*       out,
                        uint32_t            n);

uint32_t
thickening_echo_latency_frames(const thickening_echo* s);

STAGE_DECLARE(thickening_echo)

#endif // COMMON_STAGES_THICKENING_ECHO_H
