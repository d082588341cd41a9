// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// A figure that pictures share: how much a stage adds to the sound, in %,
/// against the level that is played, with the playing now and a handle where
/// the curve reaches 1 %.

#ifndef PLUGINS_WINDOW_PICTURES_SHARES_H
#define PLUGINS_WINDOW_PICTURES_SHARES_H

#include "picture.h"

/// Levels: one for each dB
enum { SHARES_N = 49, SHARES_COARSE_STEP = 4 };

#define SHARES_LOWEST_DBFS (-48.0) ///< RMS; the highest is 0

/// Writes the levels
void
shares_levels(float* dbfs);

/// Fills in what was left out between pc[i - step] and pc[i], along a straight
/// line of the figure; nothing at i = 0
void
shares_bridge(float* pc, uint32_t i, uint32_t step);

/// Returns the area: up to 40 %, or to 100 where a curve goes beyond.  `pc`
/// NULL: none yet.  In a drag, take the curve from before.
chart_area
shares_area(chart_box box, const float* pc);

void
shares_axes(chart* c, const chart_area* a);

/// Returns the level where a curve first reaches 1 %; the highest if nowhere
double
shares_at_one(const float* dbfs, const float* pc);

/// A handle there, which moves the control `info` of a row: more of it moves
/// the curve to the left.  `pc` NULL: none yet.
picture_handle
shares_handle(const chart_area* a,
              const float*      dbfs,
              const float*      pc,
              int               row,
              const param_info* info);

/// Says beside the handle where it is
void
shares_name_handle(chart*                c,
                   const chart_area*     a,
                   const picture_handle* h,
                   const float*          pc);

/// Where the playing is now, with its share, and its range of the last 10 s
void
shares_now(chart*              c,
           const chart_area*   a,
           const picture_view* v,
           const float*        dbfs,
           const float*        pc);

#endif // PLUGINS_WINDOW_PICTURES_SHARES_H
