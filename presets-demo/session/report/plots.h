// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// The plots of the report, with their figures as tables

#ifndef PRESETS_DEMO_SESSION_REPORT_PLOTS_H
#define PRESETS_DEMO_SESSION_REPORT_PLOTS_H

#include "plot_table.h"
#include "presets-demo/session/measure/probe.h"
#include "presets-demo/session/measure/time_series.h"

#include <stdio.h>

/// Share of the page's width that a plot gets, as the size at which its labels
/// are about as high as the page's small text
typedef enum { PLOT_THIRD = 292, PLOT_HALF = 354, PLOT_FULL = 738 } plot_width;

/// Where the axes of a plot over time lie, as shares of its width from the left
/// and of its height from above
#define PLOT_LEFT   (36.0 / 738.0)
#define PLOT_RIGHT  (730.0 / 738.0)
#define PLOT_TOP    (26.0 / 162.0)
#define PLOT_BOTTOM (140.0 / 162.0)

typedef struct plots plots;

/// Never returns NULL
plots*
plots_new(void);

void
plots_free(plots* p);

// Each adds a plot and returns its number

/// Spectra before and after, in dB
uint32_t
plots_add_spectra(plots*                p,
                  const signal_figures* before,
                  const signal_figures* after,
                  const char*           before_name,
                  const char*           after_name,
                  plot_width            width);

/// Level of `a` relative to `b` in each band
uint32_t
plots_add_difference(plots*                p,
                     const signal_figures* a,
                     const signal_figures* b);

typedef struct {
  const char*        name;
  const time_series* values;
} plot_curve;

/// Curves over time, told apart by their dashes
uint32_t
plots_add_curves(plots*            p,
                 const plot_curve* curves,
                 uint32_t          n,
                 const char*       unit,
                 double            low,
                 double            high);

/// Returns the figures of a plot
const plot_table*
plots_table(const plots* p, uint32_t number);

/// Returns the length of a time axis, which begins at 0
double
plots_length_s(const plots* p, uint32_t number);

/// Prints the <svg> element of a plot
void
plots_print(const plots* p, uint32_t number, const char* label, FILE* html);

#endif // PRESETS_DEMO_SESSION_REPORT_PLOTS_H
