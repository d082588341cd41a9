// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "names.h"

#include <math.h>

#define SIZE   10.0
#define HEIGHT 12.0
#define GAP    7.0 // From the point, beyond half a handle
#define FAR    14.0

names
names_of(chart_box within, const picture_handle* handles, uint32_t n)
{
  names s = {.within = within};
  for (uint32_t i = 0; i < n; ++i) {
    names_take(&s, (chart_box){handles[i].x - 5, handles[i].y - 5, 10, 10});
  }
  return s;
}

void
names_take(names* s, chart_box box)
{
  if (s->n < NAMES_MOST) {
    s->taken[s->n++] = box;
  }
}

/// Returns how much of a box is taken or outside, in square px
static double
overlap(const names* s, const chart_box* b)
{
  const chart_box* const w = &s->within;
  const double inside_w    = fmin(b->x + b->w, w->x + w->w) - fmax(b->x, w->x);
  const double inside_h    = fmin(b->y + b->h, w->y + w->h) - fmax(b->y, w->y);
  double       sum = b->w * b->h - fmax(inside_w, 0) * fmax(inside_h, 0);
  for (uint32_t i = 0; i < s->n; ++i) {
    const chart_box* const t = &s->taken[i];
    const double both_w = fmin(b->x + b->w, t->x + t->w) - fmax(b->x, t->x);
    const double both_h = fmin(b->y + b->h, t->y + t->h) - fmax(b->y, t->y);
    sum += fmax(both_w, 0) * fmax(both_h, 0);
  }
  return sum;
}

/// Returns a place `step` beside a point: first near to it, on the side asked
/// for, then round it, then farther off
static chart_box
place(double x, double y, double w, names_side side, uint32_t step)
{
  static const names_side round[4][4] = {
    [NAMES_ABOVE] = {NAMES_ABOVE, NAMES_BELOW, NAMES_RIGHT, NAMES_LEFT},
    [NAMES_BELOW] = {NAMES_BELOW, NAMES_ABOVE, NAMES_RIGHT, NAMES_LEFT},
    [NAMES_LEFT]  = {NAMES_LEFT, NAMES_RIGHT, NAMES_ABOVE, NAMES_BELOW},
    [NAMES_RIGHT] = {NAMES_RIGHT, NAMES_LEFT, NAMES_ABOVE, NAMES_BELOW},
  };
  const uint32_t   far = step / 4;
  const double     gap = GAP + FAR * far;
  const names_side at  = round[side][step % 4];
  switch (at) {
    case NAMES_ABOVE:
      return (chart_box){x - 0.5 * w, y - gap - HEIGHT, w, HEIGHT};
    case NAMES_BELOW:
      return (chart_box){x - 0.5 * w, y + gap, w, HEIGHT};
    case NAMES_LEFT:
      return (chart_box){x - gap - w, y - 0.5 * HEIGHT, w, HEIGHT};
    default:
      return (chart_box){x + gap, y - 0.5 * HEIGHT, w, HEIGHT};
  }
}

void
names_print(chart*      c,
            names*      s,
            double      x,
            double      y,
            names_side  side,
            const char* text)
{
  const chart_type type = {
    .size = SIZE, .colour = CHART_INK, .is_backed = true};
  const double w     = chart_text_width(c, type, "%s", text) + 2;
  const double left  = s->within.x;
  const double right = fmax(left, s->within.x + s->within.w - w);
  chart_box    best  = place(x, y, w, side, 0);
  double       least = INFINITY;
  for (uint32_t step = 0; step < 16 && least > 0.5; ++step) {
    chart_box b = place(x, y, w, side, step);
    if (b.y < y - GAP || b.y > y) { // Above and below it may be pushed inside
      b.x = fmin(fmax(b.x, left), right);
    }
    const double taken = overlap(s, &b);
    if (taken < least) {
      least = taken;
      best  = b;
    }
  }
  names_take(s, best);
  chart_text(c, type, best.x + 1, best.y + 9.5, "%s", text);
}
