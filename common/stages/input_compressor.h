// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Compressor in front of an amplifier: evens out the playing and softens the
/// pick attack, which gets through because there is no look-ahead.
///
/// The gain cell (gain_cell.h) sets the gain.  The edge (pick_edge.h) is driven
/// by the compressed signal at the level of the automatic make-up, even when
/// make-up is manual.  It is driven harder while the reduction lags behind its
/// target, so that sustained notes stay clean.  Both channels have one gain,
/// from the louder of them, and the edge is kept from moving the image
/// (balance.h).
///
/// Automatic make-up is a function of the settings (compressor_loudness.h).
///
/// Thresholds are in dBFS of a sine's peak.  Times are to 63 %: an attack takes
/// the attack time, a release the sum of both.
///
/// The edge's filters delay by input_compressor_latency_frames(), whatever the
/// controls; all paths are aligned to that.  With an edge of 0 the stage is
/// exactly the gain cell, with a blend of 0 exactly the delayed input.

#ifndef COMMON_STAGES_INPUT_COMPRESSOR_H
#define COMMON_STAGES_INPUT_COMPRESSOR_H

#include "common/core/balance.h"
#include "common/core/delay.h"
#include "common/core/glide.h"
#include "common/core/stage.h"
#include "common/dynamics/gain_cell.h"
#include "common/dynamics/pick_edge.h"
#include "common/filters/infra_cut.h"

#define INPUT_COMPRESSOR_PARAMS(NUM, TOG, SEL)                                 \
  NUM(threshold_db, "Threshold", DB, -60, -14, 0, LIN,                         \
      "Peak level, in dBFS, above which the signal is turned down.")           \
  NUM(ratio, "Ratio", NONE, 1, 3, 20, LOG,                                     \
      "How many dB of input above the threshold give 1 dB of output.")         \
  NUM(knee_db, "Knee", DB, 0, 3, 24, LIN,                                      \
      "Width of the bend around the threshold.")                               \
  SEL(timing, "Timing", 0, 2, "programme|manual",                              \
      "Programme: attack and release follow the crest factor of the playing.") \
  NUM(attack_ms, "Attack", MS, 0.1F, 10, 100, LOG,                             \
      "Time to 63 % of a rise in gain reduction, with manual timing.")         \
  NUM(release_ms, "Release", MS, 10, 200, 2000, LOG,                           \
      "Time to 63 % of a fall in gain reduction, with manual timing.")         \
  SEL(makeup, "Make-up", 0, 2, "auto|manual",                                  \
      "Auto: gain computed from the settings, so that playing at -18 dBFS "    \
      "RMS keeps its loudness.")                                               \
  NUM(makeup_db, "Make-up gain", DB, 0, 0, 24, LIN,                            \
      "Gain after the compressor, with manual make-up.")                       \
  NUM(edge_pc, "Edge", PC, 0, 35, 100, LIN,                                    \
      "Saturation of the pick attacks that get past the gain reduction.")      \
  NUM(blend_pc, "Blend", PC, 0, 100, 100, LIN,                                 \
      "Share of the compressed signal; the rest is the input.")

#define INPUT_COMPRESSOR_METERS(MET)                                      \
  MET(reduction_db, "Gain reduction", DB, 0, 60, "Gain reduction now.")   \
  MET(in_peak_db, "Peak in", DB, -120, 24,                                \
      "Peak level of the input as the threshold sees it, in dBFS; falls " \
      "by 12 dB a second.")

/// `level_db` is the automatic make-up, used or not.  It arrives no sooner than
/// the reduction that it makes up for, or the edge would be driven hard
/// meanwhile.
#define INPUT_COMPRESSOR_GLIDES(GLIDE, SLOW)           \
  SLOW(level_db, LEVEL_GLIDE_TAU_S, auto_makeup_db(p)) \
  GLIDE(is_auto, p->makeup < 0.5F ? 1.0 : 0.0)         \
  GLIDE(makeup_db, (double)p->makeup_db)               \
  GLIDE(edge, pc_to_share(p->edge_pc))                 \
  GLIDE(blend, pc_to_share(p->blend_pc))

PARAMS_DECLARE(input_compressor, INPUT_COMPRESSOR_PARAMS)
METERS_DECLARE(input_compressor, INPUT_COMPRESSOR_METERS)

#define INPUT_COMPRESSOR_LINE 128 ///< Above the latency plus CONTROL_FRAMES

/// State of one channel
typedef struct {
  pick_edge        edge;
  delay            input;
  infra_cut_memory below;
  float            line[INPUT_COMPRESSOR_LINE];
} input_compressor_channel;

/// Flat state, but for the pointers into itself that init() sets
typedef struct {
  uint32_t n_channels;
  uint32_t latency;

  infra_cut products; ///< Of what the gain's ripple and the edge add
  double    slow_share;

  // Settings
  input_compressor_params set; ///< As last taken
  GLIDES_FIELDS(INPUT_COMPRESSOR_GLIDES)
  ramp drive;          ///< Gain into the edge, without a transient
  ramp dry, wet, bite; ///< Gains of input, compressed, edge
  bool moving;         ///< Any of these ramps is not flat yet

  // Memory
  gain_cell cell;
  double    gain_now, gain_mean, gain_slow; ///< Of the cell; smoothed
  ramp      slow_ramp;
  balance   even; ///< Around the edge
  delay     gain_delay, weight_delay;
  float     gain_line[INPUT_COMPRESSOR_LINE];
  float     weight_line[INPUT_COMPRESSOR_LINE];

  input_compressor_channel channel[MAX_CHANNELS];
} input_compressor;

bool
input_compressor_init(input_compressor* s, double rate_hz, uint32_t n_channels);

void
input_compressor_set(input_compressor* s, const input_compressor_params* p);

void
input_compressor_reset(input_compressor* s);

void
input_compressor_control(input_compressor* s);

void
input_compressor_process(input_compressor*   s,
                         const float* const* in,
                         float* const*       out,
                         uint32_t            n);

uint32_t
input_compressor_latency_frames(const input_compressor* s);

void
input_compressor_meter(const input_compressor* s, input_compressor_meters* m);

STAGE_DECLARE(input_compressor)

#endif // COMMON_STAGES_INPUT_COMPRESSOR_H
