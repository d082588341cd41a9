// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// A close microphone: its bass (mic_near_field.h), and the quiet details that
/// only it picks up (detail_lift.h).
///
/// The distance is an equaliser and keeps its plain gain.  The lift detects the
/// input, so that distance and lift do not interact.  The lift needs no
/// loudness compensation: the loudness of playing comes from above the levels
/// that it raises.  Latency 0.

#ifndef COMMON_STAGES_PROXIMITY_LIFT_H
#define COMMON_STAGES_PROXIMITY_LIFT_H

#include "common/core/stage.h"
#include "common/dynamics/detail_lift.h"
#include "common/filters/infra_cut.h"
#include "common/speaker/mic_near_field.h"

#define PROXIMITY_LIFT_PARAMS(NUM, TOG, SEL)                                 \
  NUM(distance_cm, "Distance", CM, 1, 5, 100, LOG,                           \
      "Distance from the source to the microphone: the closer, the more "    \
      "bass.")                                                               \
  SEL(pattern, "Pattern", 2, 6,                                              \
      "omni|subcardioid|cardioid|supercardioid|hypercardioid|figure-8",      \
      "Polar pattern of the microphone: the more directional, the more "     \
      "bass.")                                                               \
  NUM(source_cm, "Source radius", CM, 0, 13, 20, LIN,                        \
      "Radius of the source: a large one tames the bass up close; 0 is the " \
      "textbook point source.")                                              \
  NUM(lift_db, "Detail lift", DB, 0, 4, 12, LIN,                             \
      "Boost of quiet details: string noise, decays, room.")                 \
  NUM(lift_below_db, "Lift below", DB, -60, -36, -12, LIN,                   \
      "RMS level, in dBFS, at which the lift has fallen to half on the way " \
      "up to loud playing.")                                                 \
  NUM(floor_db, "Noise floor", DB, -90, -70, -40, LIN,                       \
      "RMS level, in dBFS, at which the lift has fallen to half on the way " \
      "down to silence: set it 12 dB above the noise.")

#define PROXIMITY_LIFT_METERS(MET) \
  MET(lift_now_db, "Lift now", DB, 0, 12, "Detail lift now.")

/// Gains of mic_near_field_mix
#define PROXIMITY_LIFT_GLIDES(GLIDE, SLOW) \
  GLIDE(direct, mix_of(s, p).direct)       \
  GLIDE(low, mix_of(s, p).low)

PARAMS_DECLARE(proximity_lift, PROXIMITY_LIFT_PARAMS)
METERS_DECLARE(proximity_lift, PROXIMITY_LIFT_METERS)

/// Flat state
typedef struct {
  double   rate_hz;
  uint32_t n_channels;
  GLIDES_FIELDS(PROXIMITY_LIFT_GLIDES)
  ramp                low_ramp, direct_ramp;
  mic_near_field_pole pole[MAX_CHANNELS];
  infra_cut           low_end; ///< Of the microphone's amplifier
  infra_cut_memory    below[MAX_CHANNELS];
  detail_lift         lift;
} proximity_lift;

bool
proximity_lift_init(proximity_lift* s, double rate_hz, uint32_t n_channels);

void
proximity_lift_set(proximity_lift* s, const proximity_lift_params* p);

void
proximity_lift_reset(proximity_lift* s);

void
proximity_lift_control(proximity_lift* s);

void
proximity_lift_process(proximity_lift*     s,
                       const float* const* in,
                       float* const*       out,
                       uint32_t            n);

uint32_t
proximity_lift_latency_frames(const proximity_lift* s);

void
proximity_lift_meter(const proximity_lift* s, proximity_lift_meters* m);

STAGE_DECLARE(proximity_lift)

#endif // COMMON_STAGES_PROXIMITY_LIFT_H
