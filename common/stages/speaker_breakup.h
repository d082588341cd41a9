// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// A guitar loudspeaker: coil and cone, breakup, cabinet.
///
/// The input drives the moving coil (motor.h), which warms up (motor_heat.h),
/// through the amplifier's source impedance.  The cone swings in modes of half
/// the frequency when played very hard (cone_modes.h) and breaks up in a
/// saturating, resonating loop (breakup.h) at the oversampled rate.  Cabinet
/// and microphone (cabinet.h) follow.
///
/// Five properties follow how hard the loudspeaker is played, c from 0 to 1
/// (breakup_follower.h), as far as follow_pc says: they are at the position
/// q = (1 - follow) + follow * c between soft and the stated values.
///
///   drive of the breakup   0 to breakup_db
///   mix                    2/9 of mix_pc to mix_pc (10 to 45 %)
///   feedback               0 to feedback_pc
///   dynamics               0 to -squeeze_db
///   tone                   resonator down by shift_oct, low-pass down by 0.6
///                          shift_oct, presence up by 4 shift / (shift + 0.25)
///                          dB
///
/// With follow_pc 0 they stay at the stated values.
///
/// Loudness hardly depends on these settings: the gain that they add to playing
/// at ALIGN_RMS_DBFS is computed and removed (breakup_loudness.h).  Cone, back,
/// cabinet and quality crossfade.
///
/// Two channels have a loudspeaker each; c follows the louder one, and the
/// balance between them is kept (balance.h).
///
/// With `cabinet` off only modes and breakup remain, flat for small signals:
/// coil, box, back and microphone belong to the cabinet response that comes
/// after.

#ifndef COMMON_STAGES_SPEAKER_BREAKUP_H
#define COMMON_STAGES_SPEAKER_BREAKUP_H

#include "common/core/balance.h"
#include "common/core/glide.h"
#include "common/core/stage.h"
#include "common/speaker/breakup_cut.h"
#include "common/speaker/breakup_follower.h"
#include "common/speaker/speaker.h"

#define SPEAKER_BREAKUP_PARAMS(NUM, TOG, SEL)                                  \
  NUM(drive_db, "Drive", DB, -24, 0, 24, LIN,                                  \
      "How hard the loudspeaker is driven; the loudness stays the same.")      \
  NUM(follow_pc, "Follow", PC, 0, 100, 100, LIN,                               \
      "How far breakup, mix, feedback, squeeze and shift follow the "          \
      "playing; at 0 they stay at the values set.")                            \
  NUM(breakup_db, "Breakup", DB, 0, 18, 36, LIN,                               \
      "Drive into the breakup of the cone when played hard.")                  \
  NUM(mix_pc, "Mix", PC, 0, 45, 100, LIN,                                      \
      "Share of the breakup in the sound when played hard.")                   \
  NUM(feedback_pc, "Feedback", PC, 0, 60, 95, LIN,                             \
      "How strongly the cone rings in its breakup when played hard.")          \
  NUM(squeeze_db, "Squeeze", DB, 0, 3, 12, LIN,                                \
      "How far hard playing is turned down.")                                  \
  NUM(shift_oct, "Shift", OCT, 0, 0.25f, 1, LIN,                               \
      "How far hard playing moves the tone: the ring of the cone and the top " \
      "end fall, the presence rises.")                                         \
  NUM(attack_ms, "Attack", MS, 0.5f, 3, 50, LOG,                               \
      "How fast the loudspeaker answers harder playing.")                      \
  NUM(release_ms, "Release", MS, 20, 150, 1000, LOG,                           \
      "How fast the loudspeaker answers softer playing.")                      \
  SEL(cone, "Cone", 2, 4, "8 inch|10 inch|12 inch|15 inch",                    \
      "Size of the loudspeaker, with all that depends on it.")                 \
  SEL(back, "Back", 0, 2, "closed|open",                                       \
      "Closed adds the spring of the air in the box, open the wave from the "  \
      "rear of the cone.")                                                     \
  NUM(source_ohm, "Source impedance", OHM, 0, 8, 32, LIN,                      \
      "Output impedance of the amplifier: a higher one lifts the resonance "   \
      "and the treble.")                                                       \
  NUM(off_axis_pc, "Off axis", PC, 0, 20, 100, LIN,                            \
      "Angle of the microphone to the axis of the cone; 100 % is 65 "          \
      "degrees.")                                                              \
  TOG(cabinet, "Cabinet", 1,                                                   \
      "Off leaves only the breakup, for a cabinet response of your own.")      \
  SEL(quality, "Quality", 1, 3, "2x|4x|8x",                                    \
      "Oversampling of the breakup: a higher factor costs more and aliases "   \
      "less.")

#define SPEAKER_BREAKUP_METERS(MET)        \
  MET(follower_pc, "Follower", PC, 0, 100, \
      "How hard the loudspeaker is played now.")

/// In their own units; `level_db` is the gain of the output, without the
/// drive's
#define SPEAKER_BREAKUP_GLIDES(GLIDE, SLOW)    \
  GLIDE(drive_db, (double)p->drive_db)         \
  GLIDE(level_db, level_db_of(p))              \
  GLIDE(follow, pc_to_share(p->follow_pc))     \
  GLIDE(breakup_db, (double)p->breakup_db)     \
  GLIDE(mix, pc_to_share(p->mix_pc))           \
  GLIDE(feedback, pc_to_share(p->feedback_pc)) \
  GLIDE(squeeze_db, (double)p->squeeze_db)     \
  GLIDE(shift_oct, (double)p->shift_oct)       \
  GLIDE(source_ohm, (double)p->source_ohm)     \
  GLIDE(off_axis, pc_to_share(p->off_axis_pc)) \
  GLIDE(linear, p->cabinet > 0.5F ? 0.0 : 1.0)

PARAMS_DECLARE(speaker_breakup, SPEAKER_BREAKUP_PARAMS)
METERS_DECLARE(speaker_breakup, SPEAKER_BREAKUP_METERS)

/// Ramps derived from the glides
enum {
  SPEAKER_IN,      ///< Gain of the input
  SPEAKER_OUT,     ///< Gain of the output
  SPEAKER_FROM,    ///< Position at rest, 1 - follow
  SPEAKER_OCTAVES, ///< log2 of the breakup's drive at position 1
  SPEAKER_SHARE,   ///< Mix at position 1
  SPEAKER_LOOP,    ///< Feedback at position 1
  SPEAKER_SOFTER,  ///< log2 of the squeeze at position 1
  SPEAKER_N_RAMPS,
};

typedef struct {
  breakup_follower follower;
  speaker          speakers[2];
  uint32_t         active; ///< Speaker that plays, or fades out
  uint32_t         fade;   ///< Frames since the other one was started, or 0

  double   rate_hz;
  uint32_t n_channels;

  float taken[speaker_breakup_n_params]; ///< Last settings

  speaker_choice wanted;
  balance        even; ///< Around the loudspeaker
  breakup_cut    cut;  ///< Nothing below 20 Hz radiates
  ramp           linear_ramp;
  GLIDES_FIELDS(SPEAKER_BREAKUP_GLIDES)
  ramp ramps[SPEAKER_N_RAMPS];
  bool ramps_move;

  float how_hard; ///< How hard the last frame was played
  float sum;      ///< Sum of the positions since the last grid line
  float last[3];  ///< Drive, dry and wet gain of the last frame
} speaker_breakup;

bool
speaker_breakup_init(speaker_breakup* s, double rate_hz, uint32_t n_channels);

void
speaker_breakup_set(speaker_breakup* s, const speaker_breakup_params* p);

void
speaker_breakup_reset(speaker_breakup* s);

void
speaker_breakup_control(speaker_breakup* s);

void
speaker_breakup_process(speaker_breakup*    s,
                        const float* const* in,
                        float* const*       out,
                        uint32_t            n);

uint32_t
speaker_breakup_latency_frames(const speaker_breakup* s);

void
speaker_breakup_meter(const speaker_breakup* s, speaker_breakup_meters* m);

STAGE_DECLARE(speaker_breakup)

#endif // COMMON_STAGES_SPEAKER_BREAKUP_H
