// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// The plan of the proximity lift: source, microphone and its pattern, to scale

#ifndef PLUGINS_WINDOW_PICTURES_PROXIMITY_PLAN_H
#define PLUGINS_WINDOW_PICTURES_PROXIMITY_PLAN_H

#include "proximity_sound.h"

enum { PLAN_HANDLES = 2 };

/// Draws into the first figure
void
proximity_plan_draw(chart* c, const picture_view* v);

/// Writes PLAN_HANDLES: the microphone and the edge of the source
void
proximity_plan_handles(const picture_view* v, picture_handle* h);

#endif // PLUGINS_WINDOW_PICTURES_PROXIMITY_PLAN_H
