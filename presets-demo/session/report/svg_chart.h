// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// A chart as a piece of SVG within a page.  Its colours are the page's: those
/// of the palette become var(--blue) and so on, so that they follow the ground.

#ifndef PRESETS_DEMO_SESSION_REPORT_SVG_CHART_H
#define PRESETS_DEMO_SESSION_REPORT_SVG_CHART_H

#include "plugins/chart/chart.h"

#include <stddef.h>
#include <stdio.h>

typedef struct {
  chart            chart; ///< To draw with
  cairo_surface_t* surface;
  double           width, height;
  char*            text; ///< What cairo wrote
  size_t           n, room;
} svg_chart;

/// Begins a chart, in px; `s` must stay where it is until svg_chart_end()
void
svg_chart_begin(svg_chart* s, double width, double height);

/// Ends the drawing; keeps what was drawn
void
svg_chart_end(svg_chart* s);

void
svg_chart_clear(svg_chart* s);

/// Prints the <svg> element; `number` is another one for each on the page.
/// Nothing if cairo failed.
void
svg_chart_print(const svg_chart* s,
                uint32_t         number,
                const char*      label,
                FILE*            html);

#endif // PRESETS_DEMO_SESSION_REPORT_SVG_CHART_H
