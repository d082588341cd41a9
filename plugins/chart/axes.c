// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "chart.h"

#include <math.h>

#define MARK_PX 4.0

double
chart_place(const chart_axis* a, double value)
{
  const double u = a->is_log ? log(value / a->lo) / log(a->hi / a->lo)
                             : (value - a->lo) / (a->hi - a->lo);
  return a->from + u * (a->to - a->from);
}

double
chart_value(const chart_axis* a, double place)
{
  const double u = (place - a->from) / (a->to - a->from);
  return a->is_log ? a->lo * pow(a->hi / a->lo, u)
                   : a->lo + u * (a->hi - a->lo);
}

chart_area
chart_area_of(chart_box box, chart_range x, chart_range y)
{
  return (chart_area){
    .box = box,
    .x   = {x.lo, x.hi, x.is_log, box.x, box.x + box.w},
    .y   = {y.lo, y.hi, y.is_log, box.y + box.h, box.y},
  };
}

static const chart_type label_type = {.size = 10, .colour = CHART_MUTED};

void
chart_axis_x(chart*             c,
             const chart_area*  a,
             const double*      values,
             const char* const* labels,
             uint32_t           n)
{
  const double foot = a->box.y + a->box.h;
  chart_line(c, a->box.x, foot, a->box.x + a->box.w, foot, 1, CHART_GREY);
  for (uint32_t i = 0; i < n; ++i) {
    const double x = chart_place(&a->x, values[i]);
    chart_line(c, x, foot, x, foot + MARK_PX, 1, CHART_GREY);
    if (!labels[i] || !*labels[i]) {
      continue;
    }
    chart_type type = label_type;
    double     at   = x;
    type.align      = CHART_CENTRE;
    if (i == n - 1) {
      type.align = CHART_RIGHT;
      at         = a->box.x + a->box.w + 1;
    }
    chart_text(c, type, at, foot + 14, "%s", labels[i]);
  }
}

/// Digits after the point that a round value needs
static int
digits_of(double value)
{
  int digits = 0;
  while (digits < 2 && fabs(value - round(value)) > 1e-6) {
    value *= 10;
    ++digits;
  }
  return digits;
}

void
chart_axis_y(chart*            c,
             const chart_area* a,
             const double*     values,
             uint32_t          n,
             const char*       unit)
{
  chart_type type = label_type;
  double     top  = a->box.y + a->box.h;
  type.align      = CHART_RIGHT;
  for (uint32_t i = 0; i < n; ++i) {
    const double y = chart_place(&a->y, values[i]);
    top            = fmin(top, y);
    chart_line(c, a->box.x, y, a->box.x + a->box.w, y, 1, CHART_RULE);
    chart_text(c, type, a->box.x - 6, y + 3.5, "%.*f", digits_of(values[i]),
               values[i]);
  }
  chart_text(c, type, a->box.x - 6, top - 9, "%s", unit);
}
