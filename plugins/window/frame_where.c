// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// What is where on the sheet

#include "frame_state.h"

#include <math.h>

#define HANDLE_REACH 12.0

static bool
is_in(chart_box b, double x, double y)
{
  return x >= b.x && x < b.x + b.w && y >= b.y && y < b.y + b.h;
}

int
layout_item_at(const frame* f, double x, double y)
{
  for (int i = (int)f->n_items - 1; i >= 0; --i) { // The menu's lie above
    if (is_in(f->items[i].box, x, y)) {
      return i;
    }
  }
  return -1;
}

int
layout_handle_at(const frame* f, double x, double y)
{
  int    nearest = -1;
  double least   = HANDLE_REACH;
  for (uint32_t i = 0; i < f->n_handles; ++i) {
    const double dx = fabs(x - f->handles[i].x);
    const double dy = fabs(y - f->handles[i].y);
    if (fmax(dx, dy) <= least) {
      least   = fmax(dx, dy);
      nearest = (int)i;
    }
  }
  return nearest;
}

int
layout_word_at(const item* it, double x, double y)
{
  for (uint32_t i = 0; i < it->n_words; ++i) {
    chart_box b = it->word[i];
    b.x -= 6;
    b.w += 12;
    if (is_in(b, x, y)) {
      return (int)i;
    }
  }
  return -1;
}

chart_box
layout_band(const frame* f, unsigned band)
{
  const double levels = f->height - LEVELS_HEIGHT;
  const double rows   = f->rows_top - HEADING_HEIGHT + 24;
  switch (band) {
    case BAND_HEADER:
      return (chart_box){0, 0, f->width, HEADER_BOTTOM + 1};
    case BAND_FIGURES:
      return (chart_box){0, HEADER_BOTTOM + 1, f->width,
                         rows - HEADER_BOTTOM - 1};
    case BAND_ROWS:
      return (chart_box){0, rows, f->width, levels - rows};
    case BAND_LEVELS:
      return (chart_box){0, levels, f->width, 47};
    default:
      return (chart_box){0, levels + 47, f->width, LEVELS_HEIGHT - 47};
  }
}
