// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Leveler for a bus: a light-dependent resistor (common/dynamics/photocell.h)
/// lit by what the bus plays.
///
/// Both channels get one gain, from the mean of their powers after a high-pass
/// and a one-pole of 5 ms, read 3.01 dB higher so that a sine reads its peak.
/// Automatic make-up is the reduction of the static law at the alignment level,
/// and depends only on the settings.  Latency 0.

#ifndef COMMON_STAGES_BUS_LEVELER_H
#define COMMON_STAGES_BUS_LEVELER_H

#include "common/core/stage.h"
#include "common/dynamics/photocell.h"
#include "common/filters/svf.h"

#define BUS_LEVELER_PARAMS(NUM, TOG, SEL)                                     \
  NUM(threshold_db, "Threshold", DB, -50, -20, 0, LIN,                        \
      "Output level, as the peak of a sine, at which the reduction is 1 dB.") \
  NUM(ratio, "Ratio", NONE, 2.2F, 3, 4, LIN,                                  \
      "Ratio that the curve approaches far above the threshold.")             \
  NUM(speed_pc, "Speed", PC, 25, 100, 400, LOG,                               \
      "Speed of the cell, attack and release together.")                      \
  TOG(memory, "Memory", 1, "Slows the release after long loud passages.")     \
  NUM(low_cut_hz, "Detector low cut", HZ, 20, 90, 300, LOG,                   \
      "Keeps lower frequencies from driving the reduction.")                  \
  SEL(makeup, "Make-up", 0, 2, "auto|manual",                                 \
      "Auto: a fixed gain computed from threshold and ratio.")                \
  NUM(makeup_db, "Make-up gain", DB, 0, 0, 24, LIN,                           \
      "Gain after the reduction, with manual make-up.")                       \
  NUM(blend_pc, "Blend", PC, 0, 100, 100, LIN,                                \
      "Share of the levelled signal; the rest is the input.")

#define BUS_LEVELER_METERS(MET) \
  MET(reduction_db, "Gain reduction", DB, 0, 40, "Gain reduction now.")

/// dB, the exponent of the cell, log2 Hz
#define BUS_LEVELER_GLIDES(GLIDE, SLOW)        \
  GLIDE(threshold, (double)p->threshold_db)    \
  GLIDE(exponent, exponent_of(p))              \
  GLIDE(low_cut, hz_to_octaves(p->low_cut_hz)) \
  GLIDE(makeup, makeup_db_of(p))               \
  GLIDE(blend, pc_to_share(p->blend_pc))

PARAMS_DECLARE(bus_leveler, BUS_LEVELER_PARAMS)
METERS_DECLARE(bus_leveler, BUS_LEVELER_METERS)

/// Flat state
typedef struct {
  double   rate_hz;
  uint32_t n_channels;
  GLIDES_FIELDS(BUS_LEVELER_GLIDES)
  ramp      threshold_ramp, exponent_ramp, makeup_ramp, blend_ramp;
  svf       detector;
  double    detector_share;
  double    power; ///< After the detector's one-pole
  photocell cell;
} bus_leveler;

bool
bus_leveler_init(bus_leveler* s, double rate_hz, uint32_t n_channels);

void
bus_leveler_set(bus_leveler* s, const bus_leveler_params* p);

void
bus_leveler_reset(bus_leveler* s);

void
bus_leveler_control(bus_leveler* s);

void
bus_leveler_process(bus_leveler*        s,
                    const float* const* in,
                    float* const*       out,
                    uint32_t            n);

uint32_t
bus_leveler_latency_frames(const bus_leveler* s);

void
bus_leveler_meter(const bus_leveler* s, bus_leveler_meters* m);

STAGE_DECLARE(bus_leveler)

#endif // COMMON_STAGES_BUS_LEVELER_H
