// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Figures that compressors share: a scale of gain reductions from 0 dB
/// downwards, and what the reduction was in the last seconds.

#ifndef PLUGINS_WINDOW_PICTURES_REDUCTIONS_H
#define PLUGINS_WINDOW_PICTURES_REDUCTIONS_H

#include "picture.h"

/// Most points of a history
#define REDUCTIONS_MAX 300

/// Grid and figures of the scale
void
reductions_axis(chart* c, const chart_area* a);

/// Draws the last `seconds` of a meter of reduction (index as in
/// shell_meter()), `hz` points a second, with the most and the mean; the area
/// runs from -`seconds` to 0.
void
reductions_history(chart*              c,
                   const chart_area*   a,
                   const picture_view* v,
                   uint32_t            meter,
                   uint32_t            hz,
                   uint32_t            seconds);

#endif // PLUGINS_WINDOW_PICTURES_REDUCTIONS_H
