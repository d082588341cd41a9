// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Facts about each plugin for tests and benchmark: a row each, and more where
/// settings make another plugin of it.  The test `stage-rows` holds that none
/// is missing.
///
/// Settings are text (settings.h); controls not named stay at their defaults.

#ifndef TESTS_SUPPORT_STAGE_ROWS_H
#define TESTS_SUPPORT_STAGE_ROWS_H

#include <stdio.h>
#include <string.h>

typedef struct {
  const char* stem;
  const char* settings; ///< Settings of a second row; NULL: the defaults

  /// Cost of a frame by default: in yardsticks, of a send in % of a core
  /// (bench)
  double budget, goal;

  /// Settings that leave it nothing to do, if any do (bench --idle)
  const char* idle;

  /// Settings of longest memory, highest gain, most feedback (soak)
  const char* hardest;

  /// Settings of a track stage that distort or reduce the most (test_image.c),
  /// and the control that stops the distortion at 0.  NULL: never distorts.
  /// "-": always does.
  const char* driven;
  const char* curve;

  /// Settings at which something runs on in silence (test_idle.c)
  const char* listens;
} stage_row;

static const stage_row stage_rows[] = {
  {.stem    = "di-cleanup",
   .budget  = 1.5,
   .goal    = 1.0,
   .idle    = "body_db=0 presence_db=0",
   .hardest = "gain_db=24 low_cut_hz=20 body_hz=80 body_db=6 body_oct=0.2 "
              "presence_db=6 presence_oct=0.2 hum=1 pause_db=30",
   .driven  = "gain_db=12 hum=1 pause_db=30 pause_below_db=-30",
   .listens = "pause_db=30"},
  {.stem    = "input-compressor",
   .budget  = 2.5,
   .goal    = 1.5,
   .idle    = "blend_pc=0",
   .hardest = "threshold_db=-60 ratio=20 edge_pc=100",
   .driven  = "threshold_db=-30 ratio=8 edge_pc=100",
   .curve   = "edge_pc"},
  {.stem    = "tube-stage",
   .budget  = 12.0,
   .goal    = 6.0,
   .idle    = "blend_pc=0",
   .hardest = "drive_db=48 stages=2 bias_pc=100 sag_pc=100 bright_db=12 "
              "blend_pc=100",
   .driven  = "drive_db=36 sag_pc=100",
   .curve   = "-"},
  {.stem    = "thickening-echo",
   .budget  = 3.0,
   .goal    = 2.0,
   .idle    = "wet_db=-60",
   .hardest = "repeats_pc=90 low_cut_hz=20 lift_db=12 drive_db=24 "
              "flutter_pc=1 wet_db=6",
   .driven  = "drive_db=24 repeats_pc=80 wet_db=0",
   .curve   = "-"},
  {.stem    = "speaker-breakup",
   .budget  = 10.0,
   .goal    = 5.0,
   .idle    = "mix_pc=0",
   .hardest = "drive_db=24 breakup_db=36 mix_pc=100 feedback_pc=95 "
              "squeeze_db=12 shift_oct=1 source_ohm=32",
   .driven  = "drive_db=12 breakup_db=36 mix_pc=100",
   .curve   = "-"},
  {.stem     = "speaker-breakup",
   .settings = "cabinet=0",
   .budget   = 10.0,
   .goal     = 5.0},
  {.stem    = "proximity-lift",
   .budget  = 2.0,
   .goal    = 1.0,
   .idle    = "lift_db=0",
   .hardest = "distance_cm=1 pattern=5 source_cm=0 lift_db=12 "
              "lift_below_db=-12 floor_db=-90",
   .driven  = "lift_db=12 lift_below_db=-12"},
  {.stem    = "air-shelf",
   .budget  = 1.0,
   .goal    = 0.7,
   .idle    = "presence_db=0 air_db=0",
   .hardest = "presence_db=9 air_db=12 gentle_pc=100",
   .driven  = "air_db=12 gentle_pc=100",
   .listens = "gentle_pc=80"},
  {.stem    = "plate-send",
   .budget  = 9.0,
   .goal    = 5.0,
   .idle    = "wet_db=-60",
   .hardest = "decay_s=6 low_decay_pc=200 high_decay_pc=100 predelay_ms=200 "
              "low_cut_hz=20 treble_db=9 wet_db=12"},
  {.stem     = "plate-send",
   .settings = "quality=1",
   .budget   = 0.6,
   .goal     = 0.6,
   .hardest  = "decay_s=6 low_decay_pc=200 high_decay_pc=100 predelay_ms=200 "
               "low_cut_hz=20 treble_db=9 wet_db=12 quality=1"},
  {.stem    = "room-send",
   .budget  = 1.0,
   .goal    = 0.5,
   .idle    = "wet_db=-60",
   .hardest = "room=2 volume_m3=400 decay_pc=200 early_db=6 late_db=6 "
              "predelay_ms=100 low_cut_hz=20 wet_db=12"},
  {.stem    = "bus-tone",
   .budget  = 4.0,
   .goal    = 2.0,
   .idle    = "side_body_db=0 side_treble_db=0 presence_db=0",
   .hardest = "low_cut_hz=20 mid_body_db=9 side_body_db=9 side_treble_db=9 "
              "presence_db=9 presence_oct=0.3 width_pc=200 mono_below_hz=300"},
  {.stem    = "bus-leveler",
   .budget  = 4.0,
   .goal    = 2.0,
   .idle    = "blend_pc=0",
   .hardest = "threshold_db=-50 ratio=4 speed_pc=25 low_cut_hz=20"},
};

#define N_STAGE_ROWS (sizeof(stage_rows) / sizeof(stage_rows[0]))

/// Returns the first row of a plugin.  Without one: NULL, and a line that says
/// what to do.
static inline const stage_row*
stage_row_of(const char* stem)
{
  for (size_t i = 0; i < N_STAGE_ROWS; ++i) {
    if (!strcmp(stage_rows[i].stem, stem)) {
      return &stage_rows[i];
    }
  }
  fprintf(stderr,
          "%s has no row: add its budget, goal, hardest settings and (track "
          "stages) driven to tests/support/stage_rows.h\n",
          stem);
  return NULL;
}

#endif // TESTS_SUPPORT_STAGE_ROWS_H
