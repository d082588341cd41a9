// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// The studio room around the amplifiers, as a send: what a pair of microphones
/// picks up besides the direct sound.
///
/// Left and right input are two amplifiers side by side, so that a panned
/// source stays in place; equal inputs are one guitar through both.  The first
/// reflections are images in a rectangular room (room_early.h), the rest is a
/// network that continues them at the same energy (room_late.h).  Both decay by
/// one law (room.h).
///
/// Levels are those of the room: at 0 dB wet the dry signal is the direct sound
/// at the chosen distance, and the room is as loud beside it as it would be
/// there.  Latency 0; the first reflection follows by geometry.

#ifndef COMMON_STAGES_ROOM_SEND_H
#define COMMON_STAGES_ROOM_SEND_H

#include "common/core/stage.h"
#include "common/filters/svf.h"
#include "common/room/room_early.h"
#include "common/room/room_late.h"

#define ROOM_SEND_PARAMS(NUM, TOG, SEL)                                       \
  SEL(room, "Room", 1, 3, "control|treated|live",                             \
      "Materials of the walls, from much wool to bare boards.")               \
  NUM(volume_m3, "Volume", M3, 20, 67, 400, LOG,                              \
      "Volume of the room: a larger one answers later and rings longer.")     \
  NUM(decay_pc, "Decay", PC, 50, 100, 200, LIN,                               \
      "Reverberation time, relative to that of the room's materials.")        \
  NUM(distance_m, "Distance", M, 0.3F, 1.5F, 4, LOG,                          \
      "Distance from the amplifiers to the microphones, as far as the room "  \
      "allows: the farther, the more room.")                                  \
  NUM(spacing_m, "Spacing", M, 0.1F, 0.8F, 2, LOG,                            \
      "Distance between the two microphones: the wider, the lower in "        \
      "frequency the stereo width reaches.")                                  \
  NUM(early_db, "Early", DB, -24, 0, 6, LIN,                                  \
      "Level of the first reflections.")                                      \
  NUM(late_db, "Late", DB, -24, 0, 6, LIN, "Level of the reverberation.")     \
  NUM(predelay_ms, "Pre-delay", MS, 0, 0, 100, LIN,                           \
      "Additional delay of the whole room.")                                  \
  NUM(low_cut_hz, "Low cut", HZ, 20, 100, 600, LOG,                           \
      "High-pass before the room, 12 dB per octave.")                         \
  NUM(high_cut_hz, "High cut", HZ, 2000, 12000, 16000, LOG,                   \
      "Low-pass before the room, 12 dB per octave.")                          \
  NUM(wet_db, "Wet", DB, -60, 0, 12, LIN,                                     \
      "Level of the room: at 0 dB it is as loud beside the dry signal as at " \
      "the chosen distance; -60 dB is off.")                                  \
  SEL(dry, "Dry", 0, 2, "mute|pass", "Mute on a send, pass on an insert.")

/// log2 of the law and of Hz, m3 and m; dB; gains.  What changes the decay
/// glides slower, because every step circulates in the network.
#define ROOM_SEND_GLIDES(GLIDE, SLOW)                           \
  SLOW(low_s, LAW_TAU_S, steady_log2(law_of(p).low_s))          \
  SLOW(mid_s, LAW_TAU_S, steady_log2(law_of(p).mid_s))          \
  SLOW(high_s, LAW_TAU_S, steady_log2(law_of(p).high_s))        \
  SLOW(low_hz, LAW_TAU_S, steady_log2(law_of(p).low_hz))        \
  SLOW(high_hz, LAW_TAU_S, steady_log2(law_of(p).high_hz))      \
  SLOW(volume, LAW_TAU_S, steady_log2((double)p->volume_m3))    \
  SLOW(decay, LAW_TAU_S, steady_log2(pc_to_share(p->decay_pc))) \
  GLIDE(low_cut, hz_to_octaves(p->low_cut_hz))                  \
  GLIDE(high_cut, hz_to_octaves(p->high_cut_hz))                \
  GLIDE(early_db, (double)p->early_db)                          \
  GLIDE(late_db, (double)p->late_db)                            \
  GLIDE(distance, steady_log2(layout_of(p).distance_m))         \
  GLIDE(wet, gain_of_wet((double)p->wet_db))                    \
  GLIDE(dry, (double)p->dry)

PARAMS_DECLARE(room_send, ROOM_SEND_PARAMS)

/// Flat state
typedef struct {
  double rate_hz;
  GLIDES_FIELDS(ROOM_SEND_GLIDES)

  // Room
  bool       law_moving; ///< The glides moved since `law` was taken
  uint32_t   law_turn;   ///< Grid lines since then, up to ROOM_LAW_LINES
  decay_law  law;
  double     law_volume_m3;
  room_early early;
  room_late  late;

  // Send
  svf      cut[2];
  tap_line past[2];
  float    line[2][ROOM_PAST_FRAMES + CONTROL_FRAMES];

  // Levels
  ramp early_gain, late_gain, dry_gain;
} room_send;

bool
room_send_init(room_send* s, double rate_hz, uint32_t n_channels);

void
room_send_set(room_send* s, const room_send_params* p);

void
room_send_reset(room_send* s);

void
room_send_control(room_send* s);

void
room_send_process(room_send*          s,
                  const float* const* in,
                  float* const*       out,
                  uint32_t            n);

uint32_t
room_send_latency_frames(const room_send* s);

STAGE_DECLARE(room_send)

#endif // COMMON_STAGES_ROOM_SEND_H
