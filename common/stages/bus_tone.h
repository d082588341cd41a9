// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Equaliser for a stereo bus, in mid and side.
///
/// Mid is (L + R) / 2 and side (L - R) / 2; both ways together have unity
/// gain, and mid is the mono sum.  Low cut and presence work on both, one body
/// bell on the mid.  A second body bell, a treble shelf, a high-pass and the
/// width work on the side, so they cannot change the mono sum.  Matched filters
/// (common/filters/eq.h).  With all gains at 0, low cut at 20 Hz and width at
/// 100 the signal passes unchanged.  Latency 0.

#ifndef COMMON_STAGES_BUS_TONE_H
#define COMMON_STAGES_BUS_TONE_H

#include "common/core/stage.h"
#include "common/filters/svf.h"

#define BUS_TONE_PARAMS(NUM, TOG, SEL)                                     \
  NUM(low_cut_hz, "Low cut", HZ, 20, 40, 200, LOG,                         \
      "High-pass on the whole bus, 12 dB per octave; 20 Hz is off.")       \
  NUM(mid_body_hz, "Mid body frequency", HZ, 150, 300, 800, LOG,           \
      "Centre frequency of the bell on the mid.")                          \
  NUM(mid_body_db, "Mid body", DB, -9, 0, 9, LIN,                          \
      "Gain of the bell on the mid.")                                      \
  NUM(side_body_hz, "Side body frequency", HZ, 150, 350, 800, LOG,         \
      "Centre frequency of the bell on the side.")                         \
  NUM(side_body_db, "Side body", DB, -9, 1.5F, 9, LIN,                     \
      "Gain of the bell on the side.")                                     \
  NUM(side_treble_hz, "Side treble frequency", HZ, 2000, 6500, 14000, LOG, \
      "Frequency at which the shelf on the side reaches half its gain.")   \
  NUM(side_treble_db, "Side treble", DB, -9, 2, 9, LIN,                    \
      "Gain of the shelf on the side.")                                    \
  NUM(presence_hz, "Presence frequency", HZ, 1000, 2000, 5000, LOG,        \
      "Centre frequency of the bell on the whole bus.")                    \
  NUM(presence_db, "Presence", DB, -9, 1, 9, LIN,                          \
      "Gain of the bell on the whole bus.")                                \
  NUM(presence_oct, "Presence width", OCT, 0.3F, 1.2F, 3, LIN,             \
      "Width of the bell on the whole bus, between its half-gain points.") \
  NUM(width_pc, "Width", PC, 0, 100, 200, LIN,                             \
      "Gain of the side: 0 is mono, 100 leaves it unchanged.")             \
  NUM(mono_below_hz, "Mono below", HZ, 0, 0, 300, LIN,                     \
      "Removes the side below this frequency, 24 dB per octave; 0 is off.")

#define BUS_TONE_METERS(MET)                                                 \
  MET(correlation, "Correlation", NONE, -1, 1,                               \
      "Correlation of left and right at the output: 1 is mono, 0 unrelated " \
      "or silent; below 0 the mono sum suffers.")

/// log2 Hz, dB, octaves, a gain.  Low cut and mono can be off: `_on` is 1 or 0.
#define BUS_TONE_GLIDES(GLIDE, SLOW)                                      \
  GLIDE(low_cut_on, is_on(p->low_cut_hz, LOW_CUT_OFF_HZ))                 \
  GLIDE(low_cut, cut_octaves(&s->low_cut, p->low_cut_hz, LOW_CUT_OFF_HZ)) \
  GLIDE(mid_body, hz_to_octaves(p->mid_body_hz))                          \
  GLIDE(mid_body_db, (double)p->mid_body_db)                              \
  GLIDE(side_body, hz_to_octaves(p->side_body_hz))                        \
  GLIDE(side_body_db, (double)p->side_body_db)                            \
  GLIDE(side_treble, hz_to_octaves(p->side_treble_hz))                    \
  GLIDE(side_treble_db, (double)p->side_treble_db)                        \
  GLIDE(presence, hz_to_octaves(p->presence_hz))                          \
  GLIDE(presence_db, (double)p->presence_db)                              \
  GLIDE(presence_oct, (double)p->presence_oct)                            \
  GLIDE(width, pc_to_share(p->width_pc))                                  \
  GLIDE(mono_on, is_on(p->mono_below_hz, MONO_OFF_HZ))                    \
  GLIDE(mono_below, cut_octaves(&s->mono_below, p->mono_below_hz, MONO_OFF_HZ))

PARAMS_DECLARE(bus_tone, BUS_TONE_PARAMS)
METERS_DECLARE(bus_tone, BUS_TONE_METERS)

/// Filters on both, on the mid, and on the side
enum { BUS_TONE_BOTH = 2, BUS_TONE_MID = 1, BUS_TONE_SIDE = 4 };

/// Flat state
typedef struct {
  double   rate_hz;
  uint32_t n_channels;
  GLIDES_FIELDS(BUS_TONE_GLIDES)
  bool   settled; ///< Nothing moves
  bool   designs; ///< While they do: filters are designed on this line, of two
  svf    both[BUS_TONE_BOTH];
  svf    mid[BUS_TONE_MID];
  svf    side[BUS_TONE_SIDE];
  ramp   width_ramp;
  double mean_share;             ///< Share of the running means, per frame
  double sum_ll, sum_rr, sum_lr; ///< Running means
} bus_tone;

bool
bus_tone_init(bus_tone* s, double rate_hz, uint32_t n_channels);

void
bus_tone_set(bus_tone* s, const bus_tone_params* p);

void
bus_tone_reset(bus_tone* s);

void
bus_tone_control(bus_tone* s);

void
bus_tone_process(bus_tone*           s,
                 const float* const* in,
                 float* const*       out,
                 uint32_t            n);

uint32_t
bus_tone_latency_frames(const bus_tone* s);

void
bus_tone_meter(const bus_tone* s, bus_tone_meters* m);

STAGE_DECLARE(bus_tone)

#endif // COMMON_STAGES_BUS_TONE_H
