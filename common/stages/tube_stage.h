// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Tube stage: one to three triode gain stages, blended with the dry signal.
///
/// Scale: while drive_db is 0, a sample of 1.0 (0 dBFS) is
/// TUBE_STAGE_FULL_SCALE_V at the grid of the last stage, as long as no stage
/// overdrives: with one stage that is the first grid; with more, the input is
/// turned down by the gain of those in front.  So playing at -18 dBFS RMS is 63
/// mV RMS there, about the output of a pickup (from memory).  More stages
/// change the kind of overdrive rather than its amount, and 24 dB of drive stay
/// free of aliases with three as with one.
///
/// The circuit is that of tube_voice.h: blocking, cathode and supply dynamics
/// follow from its parts.  The tube signal has the loudness of the dry one, by
/// a gain computed from the settings (tube_loudness.h), so that drive, stages,
/// bias and blend change the sound and not the level.
///
/// Dry and tube signal are in phase: same polarity, same delay.
/// `stages` and `quality` start a second circuit and crossfade to it in 20 ms.
///
/// Bias moves the operating point, equally in all stages: cold towards cut-off,
/// hot towards grid current.  Sag is how far the supply falls under load.
/// Neither shifts the signal's zero: what a balanced output stage cancels is
/// left out.
///
/// Two channels have a circuit each, and the balance between them is kept
/// (balance.h).

#ifndef COMMON_STAGES_TUBE_STAGE_H
#define COMMON_STAGES_TUBE_STAGE_H

#include "common/core/balance.h"
#include "common/core/delay.h"
#include "common/core/glide.h"
#include "common/core/stage.h"
#include "common/filters/infra_cut.h"
#include "common/tube/tube_voice.h"

#define TUBE_STAGE_FULL_SCALE_V 0.5

#define TUBE_STAGE_PARAMS(NUM, TOG, SEL)                                       \
  NUM(drive_db, "Drive", DB, -12, 18, 48, LIN,                                 \
      "Gain in front of the first grid.")                                      \
  SEL(stages, "Stages", 1, 3, "one|two|three", "Number of triodes in series.") \
  NUM(bias_pc, "Bias", PC, -100, 0, 100, LIN,                                  \
      "Operating point of the triodes, from cold to hot.")                     \
  NUM(sag_pc, "Sag", PC, 0, 25, 100, LIN,                                      \
      "How far loud playing pulls the supply voltage down.")                   \
  NUM(bright_db, "Bright", DB, 0, 2, 12, LIN,                                  \
      "Treble boost in front of the first grid.")                              \
  NUM(blend_pc, "Blend", PC, 0, 50, 100, LIN,                                  \
      "Share of the tube signal: 0 is dry, 100 is the tubes alone.")           \
  SEL(quality, "Quality", 1, 3, "2x|4x|8x",                                    \
      "Oversampling: a higher factor costs more and aliases less.")

/// The operating point moves in straight lines between the grid lines of the
/// controls: so slowly that its corners cannot be heard
#define TUBE_STAGE_GLIDES(GLIDE, SLOW)          \
  GLIDE(drive_db, (double)p->drive_db)          \
  SLOW(bias_pc, BIAS_TAU_S, (double)p->bias_pc) \
  GLIDE(sag_pc, (double)p->sag_pc)              \
  GLIDE(bright_db, (double)p->bright_db)        \
  GLIDE(blend_pc, (double)p->blend_pc)          \
  GLIDE(cut, p->blend_pc > 0.0F ? 1.0 : 0.0)

PARAMS_DECLARE(tube_stage, TUBE_STAGE_PARAMS)

/// Delay at any quality and rate: that of the slowest, with room for more
#define TUBE_STAGE_LATENCY 48

/// Above the longest delay plus a call
#define TUBE_STAGE_DRY_FRAMES 128

typedef struct {
  // Settings
  double   rate_hz;
  uint32_t n_channels;
  uint32_t n_stages, quality; ///< As set; may be ahead of the voices
  GLIDES_FIELDS(TUBE_STAGE_GLIDES)

  // Coefficients
  double   bright_pole, bright_in;
  uint32_t warm_lines, fade_lines;
  ramp     drive, bright;   ///< V per full scale; treble on top of 1
  ramp     dry[2], wet[2];  ///< Gains in the mix with each voice
  ramp     fade;            ///< Share of the playing voice
  uint32_t unsettled_lines; ///< Grid lines until these ramps are flat

  // Memory
  double  treble_low[MAX_CHANNELS]; ///< Low-pass of the bright filter
  double  treble_in[MAX_CHANNELS];
  balance even; ///< Around the circuits
  delay   line[MAX_CHANNELS];
  float   dry_memory[MAX_CHANNELS][TUBE_STAGE_DRY_FRAMES];

  // Two circuits; one plays.  While it replaces the other, both run.
  tube_voice voice[2];
  uint32_t   wait[2]; ///< Frames by which a circuit is faster than the stage
  delay      late[2][MAX_CHANNELS];
  float      late_memory[2][MAX_CHANNELS][TUBE_STAGE_DRY_FRAMES];
  uint32_t   playing;
  uint32_t   change_lines; ///< Grid lines until the other one stops
  bool       is_dry;       ///< Neither is heard, and neither runs
  uint32_t   hold_lines;   ///< Grid lines until the blend may leave 0

  infra_cut        coupling; ///< Of the output: nothing below 20 Hz
  infra_cut_memory below[MAX_CHANNELS];
  ramp             cut_ramp; ///< Its share
} tube_stage;

bool
tube_stage_init(tube_stage* s, double rate_hz, uint32_t n_channels);

void
tube_stage_set(tube_stage* s, const tube_stage_params* p);

void
tube_stage_reset(tube_stage* s);

void
tube_stage_control(tube_stage* s);

void
tube_stage_process(tube_stage*         s,
                   const float* const* in,
                   float* const*       out,
                   uint32_t            n);

uint32_t
tube_stage_latency_frames(const tube_stage* s);

STAGE_DECLARE(tube_stage)

#endif // COMMON_STAGES_TUBE_STAGE_H
