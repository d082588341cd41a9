// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// The figure of the width of the bus tone: a silhouette, and the correlation
/// below it

#ifndef PLUGINS_WINDOW_PICTURES_BUS_WIDTH_H
#define PLUGINS_WINDOW_PICTURES_BUS_WIDTH_H

#include "bus_sound.h"

/// Draws into the second figure
void
bus_width_draw(chart* c, const picture_view* v);

/// Marks the correlation now and of the last seconds
void
bus_width_now(chart* c, const picture_view* v);

/// Returns the handle on the silhouette's right edge
picture_handle
bus_width_handle(const picture_view* v);

#endif // PLUGINS_WINDOW_PICTURES_BUS_WIDTH_H
