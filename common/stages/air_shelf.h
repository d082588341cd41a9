// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Presence and air: two high shelves that keep the analog curve up to Nyquist.
///
/// Presence is a one-pole shelf, broad and without overshoot (eq.h).  Air is a
/// fourth-order shelf (eq_pole_zero.h): treble masks what is above it, so that
/// a broad shelf, which lifts 6 kHz along, hides a part of the air that it
/// adds. At `gentle_pc` 0 the stage is linear, exactly.
///
/// Above 0 the lifts give way while the treble of the input is already loud.
/// The band above `presence_hz` (fourth-order Butterworth) is followed as in a
/// meter: mean square over 3 ms, then in dB 3 ms up and 150 ms down.  From 24
/// dB below the alignment level, AIR_SHELF_FROM_DBFS, to 6 dB below it,
/// AIR_SHELF_FULL_DBFS, a smooth step c goes from 0 to 1, and a lift of g dB
/// becomes g (1 - c gentle_pc / 100).  The band's edge is so steep that low
/// strings do not move it, and a shelf changes nothing far below its corner, so
/// the low end cannot pump.  Cuts stay.  (Band, levels and law are our choice.)
/// Channels are linked: the louder one counts.
///
/// A reduced lift is each section of a shelf mixed with its input: exact at the
/// top of the band, without clicks, and without new coefficients.  (The air as
/// a whole against its input would dip by up to 0.5 dB below its corner;
/// section by section it is 0.1 dB.)
///
/// `treble_db` is that level.  At `gentle_pc` 0 it is not measured, which would
/// cost a third of the stage, and reads AIR_SHELF_SILENCE_DBFS.
///
/// Latency 0.

#ifndef COMMON_STAGES_AIR_SHELF_H
#define COMMON_STAGES_AIR_SHELF_H

#include "common/core/stage.h"
#include "common/filters/eq_pole_zero.h"
#include "common/filters/svf.h"

#define AIR_SHELF_FROM_DBFS (ALIGN_RMS_DBFS - 24.0)
#define AIR_SHELF_FULL_DBFS (ALIGN_RMS_DBFS - 6.0)

/// Level of the treble in silence: far below the range of the law
#define AIR_SHELF_SILENCE_DBFS (-120.0)

#define AIR_SHELF_PARAMS(NUM, TOG, SEL)                               \
  NUM(presence_hz, "Presence frequency", HZ, 1500, 3000, 6000, LOG,   \
      "Frequency at which the presence shelf reaches half its gain.") \
  NUM(presence_db, "Presence", DB, -6, 1.5F, 9, LIN,                  \
      "Gain well above the presence frequency, by a broad shelf.")    \
  NUM(air_hz, "Air frequency", HZ, 6000, 9000, 16000, LOG,            \
      "Frequency at which the air shelf reaches half its gain.")      \
  NUM(air_db, "Air", DB, -6, 6, 12, LIN,                              \
      "Gain of the air shelf, added to the presence.")                \
  NUM(gentle_pc, "Gentle", PC, 0, 0, 100, LIN,                        \
      "How far both lifts give way while the treble is already loud.")

/// Frequencies as log2
#define AIR_SHELF_GLIDES(GLIDE, SLOW)               \
  GLIDE(presence_hz, hz_to_octaves(p->presence_hz)) \
  GLIDE(presence_db, (double)p->presence_db)        \
  GLIDE(air_hz, hz_to_octaves(p->air_hz))           \
  GLIDE(air_db, (double)p->air_db)                  \
  GLIDE(gentle, pc_to_share(p->gentle_pc))

#define AIR_SHELF_METERS(MET)                                          \
  MET(treble_db, "Treble", DB, -120, 24,                               \
      "Level of the input above the presence frequency, in dBFS RMS, " \
      "which Gentle follows; -120 while that is 0.")

PARAMS_DECLARE(air_shelf, AIR_SHELF_PARAMS)
METERS_DECLARE(air_shelf, AIR_SHELF_METERS)

/// Presence, two of air
#define AIR_SHELF_SECTIONS (1 + EQ_SHELF_4_SECTIONS)

typedef struct {
  double   rate_hz;
  uint32_t n_channels;
  bool     is_gentle; ///< The follower of the treble runs

  GLIDES_FIELDS(AIR_SHELF_GLIDES)
  svf shelf[AIR_SHELF_SECTIONS];

  // Treble follower; runs while `gentle` is above 0
  svf    band[2];
  double power_share, rise_share, fall_share; ///< Per grid line
  double line_power; ///< Sum of squares since the last grid line
  double power;      ///< Mean square over 3 ms
  double treble_dbfs;
  ramp   keep[AIR_SHELF_SECTIONS]; ///< Share of each one's effect that is left
} air_shelf;

bool
air_shelf_init(air_shelf* s, double rate_hz, uint32_t n_channels);

void
air_shelf_set(air_shelf* s, const air_shelf_params* p);

void
air_shelf_reset(air_shelf* s);

void
air_shelf_control(air_shelf* s);

void
air_shelf_process(air_shelf*          s,
                  const float* const* in,
                  float* const*       out,
                  uint32_t            n);

uint32_t
air_shelf_latency_frames(const air_shelf* s);

void
air_shelf_meter(const air_shelf* s, air_shelf_meters* m);

STAGE_DECLARE(air_shelf)

#endif // COMMON_STAGES_AIR_SHELF_H
