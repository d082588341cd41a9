// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// A plate reverberator: a steel plate with one driver and two pick-ups.
///
/// Full quality is all modes of the plate up to 10 kHz (plate.h,
/// plate_modes.h), light a network with the plate's onset and decay
/// (plate_light.h).  Filters, level and predelay come before the plate, width
/// after it.
///
/// Level: at 0 dB the reverberation of pink noise (100 Hz to 5 kHz) is as loud
/// at each output as the noise is at each input, before the filters, whatever
/// the decay and the width.  Two equal inputs drive the plate at one point;
/// their difference drives it at two, so that nothing of a stereo send is lost.
///
/// Latency 0: the dry signal is not delayed, and the wave arrives from the
/// predelay on (1.3 ms later at 10 kHz, 12.8 ms at 100 Hz, as on the plate).
///
/// Always two channels; a mono send has the same signal on both.

#ifndef COMMON_STAGES_PLATE_SEND_H
#define COMMON_STAGES_PLATE_SEND_H

#include "common/core/stage.h"
#include "common/filters/svf.h"
#include "common/plate/plate_body.h"
#include "common/plate/plate_predelay.h"

#define PLATE_SEND_PARAMS(NUM, TOG, SEL)                                   \
  NUM(decay_s, "Decay", S, 0.5F, 1.8F, 6, LOG,                             \
      "Reverberation time at 1 kHz: the time to decay by 60 dB.")          \
  NUM(low_decay_pc, "Low decay", PC, 50, 120, 200, LIN,                    \
      "Decay time at 100 Hz, relative to that at 1 kHz.")                  \
  NUM(high_decay_pc, "High decay", PC, 20, 55, 100, LIN,                   \
      "Decay time at 10 kHz, relative to that at 1 kHz.")                  \
  NUM(predelay_ms, "Pre-delay", MS, 0, 15, 200, LIN,                       \
      "Delay before the plate is struck.")                                 \
  NUM(low_cut_hz, "Low cut", HZ, 20, 160, 600, LOG,                        \
      "Keeps lower frequencies off the plate, 12 dB per octave.")          \
  NUM(high_cut_hz, "High cut", HZ, 2000, 9000, 10000, LOG,                 \
      "Keeps higher frequencies off the plate, 12 dB per octave.")         \
  NUM(treble_db, "Treble", DB, -6, 3, 9, LIN,                              \
      "Gain of a high shelf at 3.5 kHz, before the plate.")                \
  NUM(width_pc, "Width", PC, 0, 100, 100, LIN,                             \
      "Stereo width of the two pick-ups; 0 is mono, at the same level.")   \
  SEL(quality, "Quality", 0, 2, "full|light",                              \
      "Full: all modes of the plate. Light: a cheaper imitation of them.") \
  NUM(wet_db, "Wet", DB, -60, 0, 12, LIN,                                  \
      "Level of the reverberation; -60 dB is off.")                        \
  SEL(dry, "Dry", 0, 2, "mute|pass", "Mute on a send, pass on an insert.")

/// Logarithms of the times in s, log2 Hz, dB, a share and gains.  Decay times
/// glide slower than the rest, as muffling a plate takes time, too (our
/// choice).
#define PLATE_SEND_GLIDES(GLIDE, SLOW)                                     \
  SLOW(decay, DECAY_TAU_S, steady_log((double)p->decay_s))                 \
  SLOW(low_decay, DECAY_TAU_S, steady_log(pc_to_share(p->low_decay_pc)))   \
  SLOW(high_decay, DECAY_TAU_S, steady_log(pc_to_share(p->high_decay_pc))) \
  GLIDE(low_cut, hz_to_octaves(p->low_cut_hz))                             \
  GLIDE(high_cut, hz_to_octaves(p->high_cut_hz))                           \
  GLIDE(treble, (double)p->treble_db)                                      \
  GLIDE(width, pc_to_share(p->width_pc))                                   \
  GLIDE(wet, gain_of_wet((double)p->wet_db))                               \
  GLIDE(dry, (double)p->dry)

PARAMS_DECLARE(plate_send, PLATE_SEND_PARAMS)

/// Flat state, 3 MiB
typedef struct {
  double rate_hz;

  GLIDES_FIELDS(PLATE_SEND_GLIDES)
  ramp drive;     ///< Gain into the plate, by the decay
  svf  filter[3]; ///< Low cut, high cut, treble
  ramp mid_ramp, side_ramp, dry_ramp;

  plate_predelay predelay;
  plate_body     body;
} plate_send;

bool
plate_send_init(plate_send* s, double rate_hz, uint32_t n_channels);

void
plate_send_set(plate_send* s, const plate_send_params* p);

void
plate_send_reset(plate_send* s);

void
plate_send_control(plate_send* s);

void
plate_send_process(plate_send*         s,
                   const float* const* in,
                   float* const*       out,
                   uint32_t            n);

uint32_t
plate_send_latency_frames(const plate_send* s);

STAGE_DECLARE(plate_send)

#endif // COMMON_STAGES_PLATE_SEND_H
