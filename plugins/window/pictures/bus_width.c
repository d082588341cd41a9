// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "bus_width.h"

#define RANGE_S       10.0
#define CORRELATION_H 40.0   // Its ruler, below the silhouette
#define WIDTH_HZ      1000.0 // Where the handle is

enum { CORRELATION = shell_n_meters }; // The stage's only meter

static const chart_type muted = {.size = 10, .colour = CHART_MUTED};
static const chart_type ink   = {.size = 10, .colour = CHART_INK};

/// The sides' share across, mirrored: 0 in the middle, 1 at both edges
static chart_area
width_area(const picture_view* v)
{
  chart_box box = v->figure[1];
  box.h -= CORRELATION_H;
  return chart_area_of(
    box, (chart_range){-1, 1, false},
    (chart_range){1e-3 * BUS_LOWEST_HZ, 1e-3 * BUS_HIGHEST_HZ, true});
}

static chart_area
correlation_area(const picture_view* v)
{
  chart_box box = v->figure[1];
  box.y += box.h - 12;
  box.h = 12;
  return chart_area_of(box, (chart_range){-1, 1, false},
                       (chart_range){0, 1, false});
}

picture_handle
bus_width_handle(const picture_view* v)
{
  const chart_area        a     = width_area(v);
  const bus_curves* const r     = v->result[0];
  const double            pc    = (double)v->values[BUS_ROW(width_pc)];
  const double            ratio = r ? bus_ratio(r, WIDTH_HZ) : 1.0;
  const double            per_pc =
    0.01 * ratio / ((1 + 0.01 * pc * ratio) * (1 + 0.01 * pc * ratio));
  const param_info* const info = &bus_tone_param_info[BUS_ROW(width_pc)];
  return (picture_handle){
    .x         = chart_place(&a.x, bus_share(0.01 * pc * ratio)),
    .y         = chart_place(&a.y, 1e-3 * WIDTH_HZ),
    .across    = BUS_ROW(width_pc),
    .upright   = -1,
    .width     = -1,
    .across_px = 0.5 * a.box.w * per_pc * (double)(info->max - info->min),
  };
}

static void
silhouette(const bus_curves* r,
           const float*      values,
           float*            left,
           float*            right,
           float*            khz)
{
  const double width = 0.01 * (double)values[BUS_ROW(width_pc)];
  for (uint32_t i = 0; i < BUS_N_HZ; ++i) {
    const double ratio = width * bus_ratio(r, (double)r->hz[i]);
    right[i]           = (float)bus_share(ratio);
    left[i]            = -right[i];
    khz[i]             = 1e-3F * r->hz[i];
  }
}

static void
tint(chart*            c,
     const chart_area* a,
     const float*      left,
     const float*      right,
     const float*      khz)
{
  cairo_new_path(c->cr);
  for (uint32_t i = 0; i < BUS_N_HZ; ++i) {
    cairo_line_to(c->cr, chart_place(&a->x, (double)right[i]),
                  chart_place(&a->y, (double)khz[i]));
  }
  for (uint32_t i = BUS_N_HZ; i-- > 0;) {
    cairo_line_to(c->cr, chart_place(&a->x, (double)left[i]),
                  chart_place(&a->y, (double)khz[i]));
  }
  cairo_close_path(c->cr);
  chart_use(c, CHART_TINT);
  cairo_fill(c->cr);
  chart_touch(c, a->box.x, a->box.y, a->box.w, a->box.h);
}

/// Where middle and sides are as they came
static void
draw_unchanged(chart* c, const chart_area* a)
{
  const double dots[] = {1.5, 3};
  cairo_set_dash(c->cr, dots, 2, 0);
  for (int i = -1; i <= 1; i += 2) {
    const double x = chart_place(&a->x, i * bus_share(1.0));
    chart_line(c, x, a->box.y, x, a->box.y + a->box.h, 1.5,
               c->is_off ? CHART_INK : CHART_GREY);
  }
  cairo_set_dash(c->cr, NULL, 0, 0);
}

static void
draw_correlation_axis(chart* c, const picture_view* v)
{
  static const double      at[]     = {-1, 0, 1};
  static const char* const labels[] = {"-1", "0", "1"};
  const chart_area         a        = correlation_area(v);
  chart_axis_x(c, &a, at, labels, 3);
  chart_text(c, muted, a.box.x, a.box.y - 3, "correlation");
}

void
bus_width_draw(chart* c, const picture_view* v)
{
  static const double     khz[] = {10, 1, 0.1};
  const chart_area        a     = width_area(v);
  const bus_curves* const r     = v->result[0];
  const bus_curves* const old   = v->before[0];
  float                   left[BUS_N_HZ];
  float                   right[BUS_N_HZ];
  float                   at[BUS_N_HZ];
  if (r) {
    silhouette(r, v->values, left, right, at);
    tint(c, &a, left, right, at);
  }
  chart_axis_y(c, &a, khz, 3, "kHz");
  draw_unchanged(c, &a);
  draw_correlation_axis(c, v);
  if (!r) {
    return;
  }
  if (old) {
    float was[2][BUS_N_HZ];
    silhouette(old, v->settled, was[0], was[1], at);
    chart_curve(c, &a, was[0], at, BUS_N_HZ, CHART_DRAGGED);
    chart_curve(c, &a, was[1], at, BUS_N_HZ, CHART_DRAGGED);
  }
  chart_curve(c, &a, left, at, BUS_N_HZ, CHART_AFTER);
  chart_curve(c, &a, right, at, BUS_N_HZ, CHART_AFTER);
  chart_type type = ink;
  type.align      = CHART_CENTRE;
  type.is_backed  = true;
  chart_text(c, type, chart_place(&a.x, 0), chart_place(&a.y, 0.3) + 4,
             "%.0f %%", (double)v->values[BUS_ROW(width_pc)]);
}

void
bus_width_now(chart* c, const picture_view* v)
{
  const chart_area a    = correlation_area(v);
  chart_type       type = ink;
  float            lo   = 0;
  float            hi   = 0;
  type.align            = CHART_RIGHT;
  const double x        = a.box.x + a.box.w;
  if (!v->is_playing || v->is_off) {
    chart_text(c, type, x, a.box.y - 3, "\xE2\x80\x93");
    return;
  }
  const double now = clampd((double)v->meters[0], -1.0, 1.0);
  if (picture_meter_range(v, CORRELATION, RANGE_S, &lo, &hi)) {
    chart_range_x(c, &a, (double)lo, (double)hi);
  }
  chart_now_x(c, &a, now);
  chart_text(c, type, x, a.box.y - 3, "%.2f", fabs(now) < 0.005 ? 0.0 : now);
}
