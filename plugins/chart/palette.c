// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "chart.h"

// Both grounds are warm, so that only the blue is cold.  Contrasts are held by
// tests/window/test_palette.c.
const chart_palette chart_night = {
  .name = "night",
  .rgb  = {[CHART_GROUND] = 0x201F1C,
           [CHART_TINT]   = 0x2A3238,
           [CHART_INK]    = 0xECE8DD,
           [CHART_MUTED]  = 0xB0AC9F,
           [CHART_BLUE]   = 0x86BBE2,
           [CHART_GREY]   = 0x918E83,
           [CHART_RULE]   = 0x3D3B35},
};

const chart_palette chart_paper = {
  .name = "paper",
  .rgb  = {[CHART_GROUND] = 0xFBFAF7,
           [CHART_TINT]   = 0xE3EAEF,
           [CHART_INK]    = 0x262623,
           [CHART_MUTED]  = 0x63625C,
           [CHART_BLUE]   = 0x2A5F86,
           [CHART_GREY]   = 0x85837B,
           [CHART_RULE]   = 0xDCDAD3},
};

void
chart_use(const chart* c, chart_colour colour)
{
  const uint32_t rgb = c->palette->rgb[colour];
  cairo_set_source_rgb(c->cr, (rgb >> 16U & 0xFFU) / 255.0,
                       (rgb >> 8U & 0xFFU) / 255.0, (rgb & 0xFFU) / 255.0);
}
