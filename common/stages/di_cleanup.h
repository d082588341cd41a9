// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Prepares a dry guitar before anything distorts it: gain to the level that
/// the other stages expect, a low cut, two bells, notches against mains hum, an
/// expander that turns pauses down, and a meter that shows the right gain.
///
/// Butterworth low cut of 2nd to 4th order; bells that keep the analog curve up
/// to Nyquist (eq.h), as wide as between their half-gain points; notches as in
/// hum_notch.h, with their cost to notes.  All have unity gain elsewhere:
/// `gain_db` follows.
///
/// The expander (pause_expander.h) comes last and listens there, so that
/// `pause_below_db` means the same for every take that is aligned.  Off, at
/// `pause_db` 0, it costs nothing and changes nothing.
///
/// `align_db` measures the signal after the filters and before `gain_db`, so
/// its reading is the right value of `gain_db`.  It uses the gates of
/// gated_level.h, counts from the last reset, and is 0 until a block has passed
/// them.  A song grows, so the reading falls from verse to chorus.
/// `align_ready_pc` says how much of DI_CLEANUP_PLAYING_S has been heard; both
/// stand still in silence.
///
/// Latency 0.

#ifndef COMMON_STAGES_DI_CLEANUP_H
#define COMMON_STAGES_DI_CLEANUP_H

#include "common/core/stage.h"
#include "common/dynamics/pause_expander.h"
#include "common/filters/hum_notch.h"
#include "common/filters/svf.h"
#include "common/level/gated_level.h"

#define DI_CLEANUP_ALIGN_LIMIT_DB 24

/// Noise of a DI is below, playing above
#define DI_CLEANUP_GATE_DBFS (-60.0)

/// Playing, pauses left out, after which `align_db` stays within 0.5 dB of what
/// it is at the end of the take: measured on the demo's takes (lead 16.2 s,
/// rhythm 24.4 and 25.5 s) and on two of recorded notes (lead 16.0 s, rhythm
/// 26.8 s).
#define DI_CLEANUP_PLAYING_S 27.0

#define DI_CLEANUP_PARAMS(NUM, TOG, SEL)                                     \
  NUM(gain_db, "Gain", DB, -24, 0, 24, LIN,                                  \
      "Gain after the filters: set it to what Alignment shows.")             \
  NUM(low_cut_hz, "Low cut", HZ, 20, 70, 400, LOG,                           \
      "Corner frequency of the low cut (-3 dB).")                            \
  SEL(low_cut_slope, "Low cut slope", 2, 3, "12 dB/oct|18 dB/oct|24 dB/oct", \
      "How steeply the low cut falls.")                                      \
  NUM(body_hz, "Body frequency", HZ, 80, 220, 800, LOG,                      \
      "Centre frequency of the lower bell.")                                 \
  NUM(body_db, "Body", DB, -12, -2, 6, LIN,                                  \
      "Gain of the lower bell: cut against boom, boost for weight.")         \
  NUM(body_oct, "Body width", OCT, 0.2F, 1.2F, 3, LOG,                       \
      "Width of the lower bell, between its half-gain points.")              \
  NUM(presence_hz, "Presence frequency", HZ, 1000, 3500, 8000, LOG,          \
      "Centre frequency of the upper bell.")                                 \
  NUM(presence_db, "Presence", DB, -12, -2, 6, LIN,                          \
      "Gain of the upper bell: cut against clank, boost for bite.")          \
  NUM(presence_oct, "Presence width", OCT, 0.2F, 1, 3, LOG,                  \
      "Width of the upper bell, between its half-gain points.")              \
  SEL(hum, "Hum notches", 0, 3, "Off|50 Hz|60 Hz",                           \
      "Removes the mains frequency and its harmonics, up to the eighth.")    \
  NUM(pause_db, "Pauses", DB, 0, 0, 30, LIN,                                 \
      "How far noise in pauses is turned down; 0 is off.")                   \
  NUM(pause_below_db, "Pauses below", DB, -80, -60, -30, LIN,                \
      "Below this level, behind the gain, nobody plays: noise is below it.")

#define DI_CLEANUP_METERS(MET)                                                \
  MET(align_db, "Alignment", DB, -24, 24,                                     \
      "Gain that brings the playing to -18 dBFS RMS; pauses do not count.")   \
  MET(align_ready_pc, "Alignment ready", PC, 0, 100,                          \
      "How much it has heard of the playing that Alignment needs to settle; " \
      "pauses do not count, reset starts anew.")

/// Frequencies and widths as log2; shares of the slopes, with a sum of 1
#define DI_CLEANUP_GLIDES(GLIDE, SLOW)              \
  GLIDE(gain_db, (double)p->gain_db)                \
  GLIDE(low_cut_hz, hz_to_octaves(p->low_cut_hz))   \
  GLIDE(slope_12, share_of_slope(p, 0))             \
  GLIDE(slope_18, share_of_slope(p, 1))             \
  GLIDE(slope_24, share_of_slope(p, 2))             \
  GLIDE(body_hz, hz_to_octaves(p->body_hz))         \
  GLIDE(body_db, (double)p->body_db)                \
  GLIDE(body_oct, steady_log2((double)p->body_oct)) \
  GLIDE(presence_hz, hz_to_octaves(p->presence_hz)) \
  GLIDE(presence_db, (double)p->presence_db)        \
  GLIDE(presence_oct, steady_log2((double)p->presence_oct))

PARAMS_DECLARE(di_cleanup, DI_CLEANUP_PARAMS)
METERS_DECLARE(di_cleanup, DI_CLEANUP_METERS)

#define DI_CLEANUP_SLOPES 3
#define DI_CLEANUP_MAINS  2

typedef struct {
  f64x2          power; ///< Behind the filters: sum of squares since a step
  pause_expander pause;

  double   rate_hz;
  double   glide_share; ///< Of `hum_share`
  uint32_t n_channels;
  bool     gain_moves;
  bool     designed; ///< Filters that move were designed on the line before

  GLIDES_FIELDS(DI_CLEANUP_GLIDES)
  svf  filter[4]; ///< Low cut in two sections, body, presence
  ramp gain;

  // Hum: `mains` is in use, `mains_wanted` comes once it has faded out
  hum_design hum_design[DI_CLEANUP_MAINS];
  hum_memory hum_memory[MAX_CHANNELS];
  uint32_t   mains, mains_wanted; ///< 0 is off, else 1 + index
  glide      hum_share; ///< Its target depends on which mains are in use
  ramp       hum_ramp;

  // Meter, of `power`
  uint32_t    power_frames, step_frames;
  gated_level level;
} di_cleanup;

bool
di_cleanup_init(di_cleanup* s, double rate_hz, uint32_t n_channels);

void
di_cleanup_set(di_cleanup* s, const di_cleanup_params* p);

void
di_cleanup_reset(di_cleanup* s);

void
di_cleanup_control(di_cleanup* s);

void
di_cleanup_process(di_cleanup*         s,
                   const float* const* in,
                   float* const*       out,
                   uint32_t            n);

uint32_t
di_cleanup_latency_frames(const di_cleanup* s);

void
di_cleanup_meter(const di_cleanup* s, di_cleanup_meters* m);

STAGE_DECLARE(di_cleanup)

#endif // COMMON_STAGES_DI_CLEANUP_H
