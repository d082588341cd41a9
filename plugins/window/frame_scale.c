// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// The ruled scale of a row

#include "frame_state.h"

#include <math.h>

#define SCALE_Y 23.0 // From the row's top
#define INDEX_W 3.0
#define INDEX_H 13.0

static void
tick(chart* c, double x, double y, double height, chart_colour colour)
{
  chart_line(c, x, y, x, y - height, 1, colour);
}

/// Marks at 1 to 9 of each decade, those of 1 taller
static void
log_ticks(chart*            c,
          const param_info* p,
          const item*       it,
          double            y,
          chart_colour      colour)
{
  const int first = (int)floor(log10((double)p->min));
  const int last  = (int)floor(log10((double)p->max));
  for (int k = 9 * first; k < 9 * (last + 1); ++k) {
    const int    decade = (k - (k % 9 + 9) % 9) / 9;
    const int    digit  = k - 9 * decade + 1;
    const double v      = digit * pow(10.0, decade);
    if (v > (double)p->min && v < (double)p->max) {
      const double x = it->x + control_place(p, v) * it->w;
      tick(c, x, y, digit == 1 ? 6 : 3, colour);
    }
  }
}

/// Marks at round values, at least 20 px apart: every other one taller
static void
linear_ticks(chart*            c,
             const param_info* p,
             const item*       it,
             double            y,
             chart_colour      colour)
{
  static const double rounds[] = {0.01, 0.02, 0.05, 0.1, 0.2, 0.5, 1,   2,
                                  3,    6,    12,   20,  24,  50,  100, 200};

  const double span = (double)p->max - (double)p->min;
  double       step = span;
  for (size_t i = 0; i < sizeof(rounds) / sizeof(rounds[0]); ++i) {
    if (it->w * rounds[i] / span >= 20) {
      step = rounds[i];
      break;
    }
  }
  const int first = (int)ceil((double)p->min / step + 1e-6);
  for (int i = first; i * step < (double)p->max - 1e-6 * span; ++i) {
    const double x = it->x + control_place(p, i * step) * it->w;
    tick(c, x, y, i % 2 == 0 ? 5 : 3, colour);
  }
}

static void
draw_index(chart* c, double x, double y, bool is_hollow, chart_colour colour)
{
  const chart_box box = {chart_sharp(c, x - 0.5 * INDEX_W, 2), y - 9.5, INDEX_W,
                         INDEX_H};
  if (is_hollow) {
    chart_rectangle(c, (chart_box){box.x - 1, box.y, INDEX_W + 2, INDEX_H},
                    CHART_GROUND);
    chart_frame(c, (chart_box){box.x - 1, box.y, INDEX_W + 2, INDEX_H}, 1,
                colour);
  } else {
    chart_rectangle(c, box, colour);
  }
}

static void
draw_dotted_index(chart* c, double x, double y)
{
  const double dash[] = {2, 2};
  cairo_set_dash(c->cr, dash, 2, 0);
  chart_line(c, x, y - 9, x, y + 4, 1, CHART_GREY);
  cairo_set_dash(c->cr, NULL, 0, 0);
}

void
scale_draw(const frame* f, chart* c, const item* it, row_state s)
{
  const param_info* const p    = frame_info(f, it->param);
  const double            y    = it->box.y + SCALE_Y;
  const chart_colour      line = s.has_effect ? CHART_GREY : CHART_RULE;
  const double def = it->x + control_place(p, (double)p->def) * it->w;
  const double now =
    it->x + control_place(p, (double)f->value[it->param]) * it->w;

  chart_line(c, it->x, y, it->x + it->w, y, 1, line);
  tick(c, it->x, y, 6, line);
  tick(c, it->x + it->w - 0.5, y, 6, line);
  (p->taper == TAPER_LOG ? log_ticks : linear_ticks)(c, p, it, y, line);
  chart_triangle(c, def, y + 2, -4.5, false, line);
  if (!s.has_effect) {
    draw_dotted_index(c, now, y);
    return;
  }
  if (fabs(now - def) > 2) {
    chart_rectangle(c, (chart_box){fmin(now, def), y - 1.5, fabs(now - def), 3},
                    CHART_BLUE);
  }
  if (s.is_dragged) {
    const double from =
      it->x + control_place(p, (double)f->settled[it->param]) * it->w;
    draw_index(c, from, y, true, CHART_GREY);
  }
  draw_index(c, now, y, s.is_auto, s.is_auto ? CHART_INK : CHART_BLUE);
  if (s.is_held) {
    const double beside = f->value[it->param] <= p->min ? -3 : 3;
    draw_index(c, now + beside, y, false, CHART_BLUE);
  }
}
