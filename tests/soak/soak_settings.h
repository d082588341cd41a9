// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// The settings of a soak.  What is not named stays at its default; choices are
/// numbered from 0.

#ifndef TESTS_SOAK_SOAK_SETTINGS_H
#define TESTS_SOAK_SOAK_SETTINGS_H

/// Longest memory, highest gain, most feedback
typedef struct {
  const char* stem;
  const char* values;
} hard_settings;

static const hard_settings hardest[] = {
  {"di-cleanup", "gain_db=24 low_cut_hz=20 body_hz=80 body_db=6 body_oct=0.2 "
                 "presence_db=6 presence_oct=0.2 hum=1"},
  {"input-compressor", "threshold_db=-60 ratio=20 edge_pc=100"},
  {"tube-stage", "drive_db=48 stages=2 bias_pc=100 sag_pc=100 bright_db=12 "
                 "blend_pc=100"},
  {"thickening-echo", "repeats_pc=90 low_cut_hz=20 lift_db=12 drive_db=24 "
                      "flutter_pc=1 wet_db=6"},
  {"speaker-breakup", "drive_db=24 breakup_db=36 mix_pc=100 feedback_pc=95 "
                      "squeeze_db=12 shift_oct=1 source_ohm=32"},
  {"proximity-lift", "distance_cm=1 pattern=5 source_cm=0 lift_db=12 "
                     "lift_below_db=-12 floor_db=-90"},
  {"air-shelf", "presence_db=9 air_db=12 gentle_pc=100"},
  {"plate-send", "decay_s=6 low_decay_pc=200 high_decay_pc=100 predelay_ms=200 "
                 "low_cut_hz=20 treble_db=9 wet_db=12"},
  {"plate-send", "decay_s=6 low_decay_pc=200 high_decay_pc=100 predelay_ms=200 "
                 "low_cut_hz=20 treble_db=9 wet_db=12 quality=1"},
  {"room-send", "room=2 volume_m3=400 decay_pc=200 early_db=6 late_db=6 "
                "predelay_ms=100 low_cut_hz=20 wet_db=12"},
  {"bus-tone", "low_cut_hz=20 mid_body_db=9 side_body_db=9 side_treble_db=9 "
               "presence_db=9 presence_oct=0.3 width_pc=200 mono_below_hz=300"},
  {"bus-leveler", "threshold_db=-50 ratio=4 speed_pc=25 low_cut_hz=20"},
};

#endif // TESTS_SOAK_SOAK_SETTINGS_H
