// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Names beside handles and points, where they cover neither each other nor
/// what must stay in sight

#ifndef PLUGINS_WINDOW_PICTURES_NAMES_H
#define PLUGINS_WINDOW_PICTURES_NAMES_H

#include "picture.h"

enum { NAMES_MOST = 24 };

typedef enum { NAMES_ABOVE, NAMES_BELOW, NAMES_LEFT, NAMES_RIGHT } names_side;

typedef struct {
  chart_box within;            ///< Where names may stand
  chart_box taken[NAMES_MOST]; ///< Left free by those that follow
  uint32_t  n;
} names;

/// Begins with handles that no name may cover
names
names_of(chart_box within, const picture_handle* handles, uint32_t n);

void
names_take(names* s, chart_box box);

/// Prints a name beside a point: on the side asked for if that is free, else
/// on another or farther off
void
names_print(chart*      c,
            names*      s,
            double      x,
            double      y,
            names_side  side,
            const char* text);

#endif // PLUGINS_WINDOW_PICTURES_NAMES_H
