// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// The arrivals of the thickening echo: the dry signal, echo and repeats

#ifndef PLUGINS_WINDOW_PICTURES_ECHO_ARRIVALS_H
#define PLUGINS_WINDOW_PICTURES_ECHO_ARRIVALS_H

#include "echo_sound.h"

enum { ARRIVALS_HANDLES = 2 };

/// Draws into the first figure
void
echo_arrivals_draw(chart* c, const picture_view* v);

/// Writes ARRIVALS_HANDLES: the echo and its repeat
void
echo_arrivals_handles(const picture_view* v, picture_handle* h);

/// Returns the tone as a drag began, so that axes stand still; or NULL
const echo_tone*
echo_settled(const picture_view* v);

/// Returns the place of a value, at the end of the axis if beyond
double
echo_held(const chart_axis* a, double value);

#endif // PLUGINS_WINDOW_PICTURES_ECHO_ARRIVALS_H
