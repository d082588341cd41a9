// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "chart.h"

#include <math.h>

typedef struct {
  chart_colour colour;
  double       width;
  double       dash, gap; ///< 0: solid
} line_look;

static const line_look looks[CHART_N_LINES] = {
  [CHART_BEFORE]    = {CHART_GREY, 1.5, 0, 0},
  [CHART_AFTER]     = {CHART_BLUE, 2.25, 0, 0},
  [CHART_SECOND]    = {CHART_BLUE, 1.5, 5, 3},
  [CHART_PART]      = {CHART_BLUE, 1.25, 0, 0},
  [CHART_DRAGGED]   = {CHART_GREY, 1.25, 7, 3},
  [CHART_REFERENCE] = {CHART_GREY, 1.25, 3, 3},
  [CHART_NOW]       = {CHART_INK, 1, 0, 0},
};

/// While a stage is off, the input is heard and its own curves are only shown
static const line_look off_looks[CHART_N_LINES] = {
  [CHART_BEFORE]    = {CHART_INK, 2.25, 0, 0},
  [CHART_AFTER]     = {CHART_GREY, 2.25, 4, 3},
  [CHART_SECOND]    = {CHART_GREY, 1.5, 2, 3},
  [CHART_PART]      = {CHART_GREY, 1.25, 0, 0},
  [CHART_DRAGGED]   = {CHART_GREY, 1, 7, 3},
  [CHART_REFERENCE] = {CHART_GREY, 1, 1, 3},
  [CHART_NOW]       = {CHART_INK, 1, 0, 0},
};

static line_look
use_line(chart* c, chart_line_style style)
{
  const line_look look   = c->is_off ? off_looks[style] : looks[style];
  const double    dash[] = {look.dash, look.gap};
  chart_use(c, look.colour);
  cairo_set_line_width(c->cr, look.width);
  // One that moves is thin: round corners and the finest edges are not seen,
  // and are more than half of its cost
  const bool is_moving = style == CHART_NOW;
  cairo_set_line_join(c->cr, is_moving ? CAIRO_LINE_JOIN_BEVEL
                                       : CAIRO_LINE_JOIN_ROUND);
  cairo_set_antialias(c->cr, is_moving ? CAIRO_ANTIALIAS_FAST
                                       : CAIRO_ANTIALIAS_DEFAULT);
  cairo_set_dash(c->cr, dash, look.dash > 0 ? 2 : 0, 0);
  return look;
}

static void
clip_to(chart* c, const chart_area* a, double spare)
{
  cairo_rectangle(c->cr, a->box.x - spare, a->box.y - spare,
                  a->box.w + 2 * spare, a->box.h + 2 * spare);
  cairo_clip(c->cr);
}

/// Far outside the area is as good as anywhere, and within cairo's numbers
static double
held(const chart_area* a, double y)
{
  const double most = a->box.h + 100;
  return fmin(fmax(y, a->box.y - most), a->box.y + a->box.h + most);
}

static bool
is_drawable(const chart_area* a, float x, float y)
{
  return isfinite(x) && isfinite(y) && (!a->y.is_log || y > 0.0F) &&
         (!a->x.is_log || x > 0.0F);
}

void
chart_curve(chart*            c,
            const chart_area* a,
            const float*      x,
            const float*      y,
            uint32_t          n,
            chart_line_style  style)
{
  cairo_save(c->cr);
  const line_look look = use_line(c, style);
  clip_to(c, a, 0.5 * look.width);
  for (uint32_t i = 0; i < n; ++i) {
    if (!is_drawable(a, x[i], y[i])) {
      cairo_new_sub_path(c->cr);
      continue;
    }
    const double at       = chart_place(&a->x, (double)x[i]);
    const double high     = held(a, chart_place(&a->y, (double)y[i]));
    const bool   is_first = i == 0 || !is_drawable(a, x[i - 1], y[i - 1]);
    (is_first ? cairo_move_to : cairo_line_to)(c->cr, at, high);
  }
  cairo_stroke(c->cr);
  cairo_restore(c->cr);
  chart_touch(c, a->box.x - 2, a->box.y - 2, a->box.w + 4, a->box.h + 4);
}

void
chart_fill(chart*            c,
           const chart_area* a,
           const float*      x,
           const float*      y,
           const float*      y1,
           double            base,
           uint32_t          n)
{
  if (n < 2) {
    return;
  }
  cairo_save(c->cr);
  clip_to(c, a, 0);
  cairo_new_path(c->cr);
  for (uint32_t i = 0; i < n; ++i) {
    cairo_line_to(c->cr, chart_place(&a->x, (double)x[i]),
                  held(a, chart_place(&a->y, (double)y[i])));
  }
  for (uint32_t i = n; i-- > 0;) {
    const double low = y1 ? (double)y1[i] : base;
    cairo_line_to(c->cr, chart_place(&a->x, (double)x[i]),
                  held(a, chart_place(&a->y, low)));
  }
  cairo_close_path(c->cr);
  chart_use(c, CHART_TINT);
  cairo_fill(c->cr);
  cairo_restore(c->cr);
  chart_touch(c, a->box.x, a->box.y, a->box.w, a->box.h);
}

void
chart_level(chart* c, const chart_area* a, double y, chart_line_style style)
{
  const float x[] = {(float)a->x.lo, (float)a->x.hi};
  const float v[] = {(float)y, (float)y};
  chart_curve(c, a, x, v, 2, style);
}

void
chart_upright(chart* c, const chart_area* a, double x, chart_line_style style)
{
  const float at[] = {(float)x, (float)x};
  const float v[]  = {(float)a->y.lo, (float)a->y.hi};
  chart_curve(c, a, at, v, 2, style);
}

static bool
is_within(const chart_axis* a, double value)
{
  return value >= a->lo && value <= a->hi;
}

void
chart_now_x(chart* c, const chart_area* a, double x)
{
  if (!is_within(&a->x, x)) {
    return;
  }
  const double at   = chart_place(&a->x, x);
  const double foot = a->box.y + a->box.h;
  chart_line(c, at, a->box.y, at, foot - 6, 1, CHART_INK);
  chart_triangle(c, chart_sharp(c, at, 1), foot, 6, true, CHART_INK);
}

void
chart_range_x(chart* c, const chart_area* a, double from, double to)
{
  const double x0 = chart_place(&a->x, fmax(fmin(from, a->x.hi), a->x.lo));
  const double x1 = chart_place(&a->x, fmax(fmin(to, a->x.hi), a->x.lo));
  if (x1 > x0) {
    chart_rectangle(c, (chart_box){x0, a->box.y + a->box.h - 1.5, x1 - x0, 3},
                    CHART_INK);
  }
}
