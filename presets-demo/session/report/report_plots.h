// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// All plots of a report, drawn first and printed where they belong

#ifndef PRESETS_DEMO_SESSION_REPORT_REPORT_PLOTS_H
#define PRESETS_DEMO_SESSION_REPORT_REPORT_PLOTS_H

#include "plots.h"
#include "presets-demo/session/mix/mixdown.h"

/// The plots of a lane, by number
typedef struct {
  uint32_t  whole;
  uint32_t* stages;
  uint32_t  reduction;
  bool      has_reduction;
} lane_plots;

typedef struct {
  plots*      plots;
  uint32_t    mix, mono, correlation;
  lane_plots* lanes; ///< n_lanes of them
  uint32_t    n_lanes;
} report_plots;

/// Draws all plots
report_plots
report_plots_draw(const mixdown* m);

void
report_plots_clear(report_plots* p);

/// Prints a figure with its caption and its table.  A plot over time belongs to
/// the lane `l`, whose playhead it shows; NULL for others.
void
report_plots_print(FILE*               f,
                   const report_plots* p,
                   uint32_t            number,
                   const lane*         l,
                   const char*         caption,
                   const char*         more);

#endif // PRESETS_DEMO_SESSION_REPORT_REPORT_PLOTS_H
