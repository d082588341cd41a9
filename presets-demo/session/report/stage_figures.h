// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// The figures of a report, from what the lanes measured

#ifndef PRESETS_DEMO_SESSION_REPORT_STAGE_FIGURES_H
#define PRESETS_DEMO_SESSION_REPORT_STAGE_FIGURES_H

#include "presets-demo/session/mix/lane.h"

/// Figures of one stage, or of a whole setup; NAN for no value
typedef struct {
  const char* name;
  double      in_db, out_db;     ///< Gated RMS, dBFS
  double      in_lufs, out_lufs; ///< Integrated loudness
  double      change_lu;         ///< Loudness out less loudness in
  double      peak_db;           ///< Of the output, dBFS
  double      crest_db;          ///< Of the output: peak less gated RMS
  double      crest_change_db;   ///< Crest out less crest in
  double      reduction_mean_db;
  double      reduction_max_db;
  uint32_t    latency_frames;
  double      cost_pc; ///< Share of one processor when playing in real time
} stage_figures;

stage_figures
stage_figures_of_stage(const lane* l, uint32_t stage);

/// Returns the figures from the input to the output of the last stage, before
/// gain and pan
stage_figures
stage_figures_of_setup(const lane* l);

/// Returns "track", "send" or "bus"
const char*
stage_figures_kind(const lane* l);

/// Returns the highest value of a series; NAN if it has none
double
stage_figures_max(const time_series* s);

#endif // PRESETS_DEMO_SESSION_REPORT_STAGE_FIGURES_H
