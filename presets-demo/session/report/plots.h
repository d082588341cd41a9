// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Plots as pieces of SVG, drawn by gnuplot in one go

#ifndef PRESETS_DEMO_SESSION_REPORT_PLOTS_H
#define PRESETS_DEMO_SESSION_REPORT_PLOTS_H

#include "plot_table.h"
#include "presets-demo/session/measure/probe.h"
#include "presets-demo/session/measure/time_series.h"

#include <stdio.h>

/// Share of the page's width that a plot gets, as the size at which its letters
/// are 13 px
typedef enum { PLOT_THIRD = 380, PLOT_HALF = 460, PLOT_FULL = 960 } plot_width;

/// Where the axes of a plot over time lie, as shares of its width from the left
/// and of its height from below
#define PLOT_LEFT   0.065
#define PLOT_RIGHT  0.975
#define PLOT_BOTTOM 0.27
#define PLOT_TOP    0.87

typedef struct plots plots;

/// Never returns NULL
plots*
plots_new(void);

void
plots_free(plots* p);

// Each adds a plot and returns its number

/// Spectra before and after, in dB
uint32_t
plots_add_spectra(plots*       p,
                  const probe* before,
                  const probe* after,
                  const char*  before_name,
                  const char*  after_name,
                  plot_width   width);

/// Level of `a` relative to `b` in each band
uint32_t
plots_add_difference(plots* p, const probe* a, const probe* b);

typedef struct {
  const char*        name;
  const time_series* values;
} plot_curve;

/// Curves over time
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

/// Time limit for gnuplot, far above what a large session needs
#define PLOTS_LIMIT_S 60.0

typedef enum {
  PLOTS_DRAWN,
  PLOTS_FAILED, ///< gnuplot was not found or failed
  PLOTS_SLOW,   ///< gnuplot was stopped after `limit_s`
} plots_result;

/// Draws all plots; gnuplot is killed after `limit_s`
plots_result
plots_draw(plots* p, double limit_s);

/// Prints the <svg> element of a plot; nothing if there is none
void
plots_print(const plots* p, uint32_t number, const char* label, FILE* html);

#endif // PRESETS_DEMO_SESSION_REPORT_PLOTS_H
