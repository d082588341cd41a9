// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Dragging scales and handles

#include "frame_state.h"

#include <math.h>

#define FINE 0.1

int
row_param(int stage_row)
{
  return stage_row < 0 ? -1 : (int)SHELL_FIRST_PARAMS + stage_row;
}

void
drag_hold(frame* f, int index, int handle, double x, double y)
{
  drag_state* const d = &f->drag;
  *d                  = (drag_state){true, false, index, handle, x, y, 0, 0};
  int across          = -1;
  int upright         = -1;
  if (handle >= 0) {
    across  = row_param(f->handles[handle].across);
    upright = row_param(f->handles[handle].upright);
  } else {
    across = (int)f->items[index].param;
  }
  if (across >= 0) {
    d->across = control_place(frame_info(f, across), (double)f->value[across]);
  }
  if (upright >= 0) {
    d->upright =
      control_place(frame_info(f, upright), (double)f->value[upright]);
  }
}

/// Moves a control to a place on its scale, beyond the ends too
static void
drag_to(frame* f, int param, double* place, double by)
{
  const double to = *place + by;
  *place          = fmin(fmax(to, 0.0), 1.0);
  gesture_move(f, (uint32_t)param, control_value(frame_info(f, param), *place));
  if (to != *place) {
    f->held_s[param] = f->now_s;
  }
}

void
drag_move(frame* f, const window_event* e, double x, double y)
{
  drag_state* const d  = &f->drag;
  const double      k  = e->shift ? FINE : 1.0;
  const double      dx = (x - d->x) * k;
  const double      dy = (y - d->y) * k;
  if (x == d->x && y == d->y) {
    return;
  }
  if (!d->is_moving || !f->is_open) { // A key may have ended it
    gesture_begin(f);
    f->open.is_alone = e->ctrl;
    d->is_moving     = true;
  }
  d->x = x;
  d->y = y;
  if (d->handle < 0) {
    const item* const it = &f->items[d->item];
    drag_to(f, (int)it->param, &d->across, dx / it->w);
    return;
  }
  const picture_handle h = f->handles[d->handle];
  if (h.across >= 0 && h.across_px != 0) {
    drag_to(f, row_param(h.across), &d->across, dx / h.across_px);
  }
  if (h.upright >= 0 && h.upright_px != 0) {
    drag_to(f, row_param(h.upright), &d->upright, dy / h.upright_px);
  }
}

void
drag_end(frame* f)
{
  if (f->drag.is_moving) {
    gesture_end(f);
  }
  f->drag = (drag_state){.item = -1, .handle = -1};
  f->bands |= BAND_ROWS | BAND_FIGURES | BAND_LEVELS;
}
