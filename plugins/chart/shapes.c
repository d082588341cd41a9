// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "chart.h"

#include <math.h>

void
chart_touch(chart* c, double x, double y, double w, double h)
{
  chart_boxes* const t = c->touched;
  if (!t) {
    return;
  }
  const chart_box new = {x - 1, y - 1, w + 2, h + 2};
  const uint32_t most = sizeof(t->box) / sizeof(t->box[0]);
  if (t->n < most) {
    t->box[t->n++] = new;
    return;
  }
  chart_box* const last   = &t->box[most - 1];
  const double     right  = fmax(last->x + last->w, new.x + new.w);
  const double     bottom = fmax(last->y + last->h, new.y + new.h);
  last->x                 = fmin(last->x, new.x);
  last->y                 = fmin(last->y, new.y);
  last->w                 = right - last->x;
  last->h                 = bottom - last->y;
}

double
chart_sharp(const chart* c, double at, double width)
{
  cairo_matrix_t m;
  cairo_get_matrix(c->cr, &m);
  const double device = at * m.xx;
  const bool   is_odd = (int)fmax(round(width * m.xx), 1) % 2 != 0;
  return (is_odd ? floor(device) + 0.5 : round(device)) / m.xx;
}

/// Returns the width of a sharp line: a whole number of device pixels
static double
sharp_width(const chart* c, double width)
{
  cairo_matrix_t m;
  cairo_get_matrix(c->cr, &m);
  return fmax(round(width * m.xx), 1) / m.xx;
}

void
chart_rectangle(chart* c, chart_box box, chart_colour colour)
{
  chart_use(c, colour);
  cairo_rectangle(c->cr, box.x, box.y, box.w, box.h);
  cairo_fill(c->cr);
  chart_touch(c, box.x, box.y, box.w, box.h);
}

void
chart_frame(chart* c, chart_box box, double width, chart_colour colour)
{
  const double w = sharp_width(c, width);
  const double x = chart_sharp(c, box.x, width);
  const double y = chart_sharp(c, box.y, width);
  chart_use(c, colour);
  cairo_set_line_width(c->cr, w);
  cairo_rectangle(c->cr, x, y, chart_sharp(c, box.x + box.w - 1, width) - x,
                  chart_sharp(c, box.y + box.h - 1, width) - y);
  cairo_stroke(c->cr);
  chart_touch(c, box.x - width, box.y - width, box.w + 2 * width,
              box.h + 2 * width);
}

void
chart_line(chart*       c,
           double       x0,
           double       y0,
           double       x1,
           double       y1,
           double       width,
           chart_colour colour)
{
  if (x0 == x1) {
    x0 = x1 = chart_sharp(c, x0, width);
  }
  if (y0 == y1) {
    y0 = y1 = chart_sharp(c, y0, width);
  }
  chart_use(c, colour);
  cairo_set_line_width(c->cr, sharp_width(c, width));
  cairo_move_to(c->cr, x0, y0);
  cairo_line_to(c->cr, x1, y1);
  cairo_stroke(c->cr);
  chart_touch(c, fmin(x0, x1) - width, fmin(y0, y1) - width,
              fabs(x1 - x0) + 2 * width, fabs(y1 - y0) + 2 * width);
}

void
chart_dot(chart* c, double x, double y, chart_colour colour)
{
  chart_use(c, colour);
  cairo_arc(c->cr, x, y, 3.5, 0, 2 * 3.14159265358979323846);
  cairo_fill(c->cr);
  chart_touch(c, x - 4, y - 4, 8, 8);
}

void
chart_triangle(chart*       c,
               double       x,
               double       y,
               double       height,
               bool         is_solid,
               chart_colour colour)
{
  const double half = 0.6 * fabs(height);
  chart_use(c, colour);
  cairo_move_to(c->cr, x, y);
  cairo_line_to(c->cr, x - half, y - height);
  cairo_line_to(c->cr, x + half, y - height);
  cairo_close_path(c->cr);
  if (is_solid) {
    cairo_fill(c->cr);
  } else {
    cairo_set_line_width(c->cr, 1.1);
    cairo_stroke(c->cr);
  }
  chart_touch(c, x - half - 1, fmin(y, y - height) - 1, 2 * half + 2,
              fabs(height) + 2);
}
