// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// What happens to the middle, what to the sides, how wide is it?

#include "bus_sound.h"
#include "names.h"

#include <stdio.h>

enum { RESPONSE, WIDTH };

#define LOWEST_DB     (-12.0)
#define RANGE_S       10.0
#define CORRELATION_H 40.0 // Its ruler, below the silhouette
#define WIDTH_HZ      1000.0
#define CLOSE_PX      12.0 // Handles nearer than that stand apart

static const picture_figure figures[] = {
  {.title     = "Response",
   .subtitle  = "of the middle and of the sides, before the width",
   .n_columns = 3},
  {.title     = "Width",
   .subtitle  = "sides against middle",
   .column    = 3,
   .n_columns = 1},
};

static const picture_part parts[] = {
  {.size       = sizeof(bus_curves),
   .n_channels = 2,
   .inputs     = bus_curves_inputs,
   .compute    = bus_curves_compute},
};

enum { CORRELATION = shell_n_meters }; // The stage's only meter

static const chart_type muted = {.size = 10, .colour = CHART_MUTED};
static const chart_type ink   = {.size = 10, .colour = CHART_INK};

// ---------------------------------------------------------------------------
// Places

static chart_area
response_area(const picture_view* v)
{
  const bus_curves* const r   = v->before[0] ? v->before[0] : v->result[0];
  float                   top = 0;
  for (uint32_t i = 0; r && i < BUS_N_HZ; ++i) {
    top = fmaxf(top, fmaxf(r->middle_db[i], r->sides_db[i]));
  }
  const double hi = top < 5.5F ? 6 : top < 11.5F ? 12 : 24;
  return chart_area_of(v->figure[RESPONSE],
                       (chart_range){BUS_LOWEST_HZ, BUS_HIGHEST_HZ, true},
                       (chart_range){LOWEST_DB, hi, false});
}

/// The sides' share across, mirrored: 0 in the middle, 1 at both edges
static chart_area
width_area(const picture_view* v)
{
  chart_box box = v->figure[WIDTH];
  box.h -= CORRELATION_H;
  return chart_area_of(
    box, (chart_range){-1, 1, false},
    (chart_range){1e-3 * BUS_LOWEST_HZ, 1e-3 * BUS_HIGHEST_HZ, true});
}

static chart_area
correlation_area(const picture_view* v)
{
  chart_box box = v->figure[WIDTH];
  box.y += box.h - 12;
  box.h = 12;
  return chart_area_of(box, (chart_range){-1, 1, false},
                       (chart_range){0, 1, false});
}

static double
curve_y(const chart_area* a, const picture_view* v, bool is_sides, float hz)
{
  const bus_curves* const r = v->result[0];
  const float             db =
    r ? picture_curve_at(r->hz, is_sides ? r->sides_db : r->middle_db, BUS_N_HZ,
                                     hz)
                  : 0.0F;
  return chart_place(&a->y, clampd((double)db, a->y.lo, a->y.hi));
}

/// On a curve, at the value of a row of frequency
static picture_handle
curve_handle(const picture_view* v, int hz_row, int db_row, bool is_sides)
{
  const chart_area a  = response_area(v);
  const float      hz = v->values[hz_row];
  picture_handle   h  = {
       .x         = chart_place(&a.x, (double)hz),
       .y         = curve_y(&a, v, is_sides, hz),
       .across    = hz_row,
       .upright   = db_row,
       .width     = -1,
       .across_px = picture_span(&a.x, &bus_tone_param_info[hz_row]),
  };
  if (db_row >= 0) {
    h.upright_px = picture_span(&a.y, &bus_tone_param_info[db_row]);
  }
  return h;
}

/// An even row on a logarithmic axis: as steep as where it is.  Off, it waits
/// at the edge.
static picture_handle
mono_handle(const picture_view* v)
{
  const param_info* const info = &bus_tone_param_info[BUS_ROW(mono_below_hz)];
  const chart_area        a    = response_area(v);
  const double            hz   = (double)v->values[BUS_ROW(mono_below_hz)];
  const double            at   = fmax(hz, BUS_LOWEST_HZ);
  const double decade = chart_place(&a.x, 10 * BUS_LOWEST_HZ) - a.box.x;
  return (picture_handle){
    .x       = chart_place(&a.x, at),
    .y       = hz > 0 ? curve_y(&a, v, true, (float)at)
                      : chart_place(&a.y, LOWEST_DB + 3),
    .across  = BUS_ROW(mono_below_hz),
    .upright = -1,
    .width   = -1,
    .across_px =
      decade * log10(exp(1.0)) * (double)(info->max - info->min) / at,
  };
}

/// On the silhouette's right edge
static picture_handle
width_handle(const picture_view* v)
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

enum {
  LOW_CUT,
  PRESENCE,
  MID_BODY,
  SIDE_BODY,
  SIDE_TREBLE,
  MONO,
  N_CURVE_HANDLES,
  WIDE = N_CURVE_HANDLES,
  N_HANDLES,
};

/// Moves two apart where one would cover the other; a second time, for a third
/// may be in the way
static void
part_handles(picture_handle* h)
{
  for (int i = 0; i < 2 * N_CURVE_HANDLES; ++i) {
    picture_handle* const m = &h[i % N_CURVE_HANDLES];
    for (int k = i % N_CURVE_HANDLES + 1; k < N_CURVE_HANDLES; ++k) {
      picture_handle* const s  = &h[k];
      const double          dy = s->y - m->y;
      if (fabs(s->x - m->x) < CLOSE_PX && fabs(dy) < CLOSE_PX) {
        const double apart = 0.5 * (CLOSE_PX - fabs(dy));
        m->y += dy < 0 ? apart : -apart;
        s->y += dy < 0 ? -apart : apart;
      }
    }
  }
}

static uint32_t
handles(const picture_view* v, picture_handle* h)
{
  h[LOW_CUT] = curve_handle(v, BUS_ROW(low_cut_hz), -1, false);
  h[PRESENCE] =
    curve_handle(v, BUS_ROW(presence_hz), BUS_ROW(presence_db), false);
  h[PRESENCE].width = BUS_ROW(presence_oct);
  h[MID_BODY] =
    curve_handle(v, BUS_ROW(mid_body_hz), BUS_ROW(mid_body_db), false);
  h[SIDE_BODY] =
    curve_handle(v, BUS_ROW(side_body_hz), BUS_ROW(side_body_db), true);
  h[SIDE_TREBLE] =
    curve_handle(v, BUS_ROW(side_treble_hz), BUS_ROW(side_treble_db), true);
  h[SIDE_TREBLE].upright_px *= 0.5; // At its frequency half of the gain
  h[MONO] = mono_handle(v);
  h[WIDE] = width_handle(v);
  part_handles(h);
  return N_HANDLES;
}

// ---------------------------------------------------------------------------
// Response

static void
name_gain(chart*                c,
          names*                s,
          const picture_handle* h,
          const char*           name,
          float                 db,
          bool                  is_above)
{
  char text[32];
  (void)snprintf(text, sizeof(text), "%s %.1f", name,
                 fabsf(db) < 0.05F ? 0.0 : (double)db);
  names_print(c, s, h->x, h->y, is_above ? NAMES_ABOVE : NAMES_BELOW, text);
}

static void
name_handles(chart* c, const chart_area* a, const picture_view* v)
{
  const bus_tone_params p = bus_params_of(v->values);
  picture_handle        h[PICTURE_MAX_HANDLES];
  char                  text[40];
  (void)handles(v, h);
  const bool is_up = h[SIDE_BODY].y <= h[MID_BODY].y;
  names      s     = names_of(a->box, h, N_CURVE_HANDLES);
  name_gain(c, &s, &h[MID_BODY], "middle", p.mid_body_db, !is_up);
  name_gain(c, &s, &h[SIDE_BODY], "sides", p.side_body_db, is_up);
  name_gain(c, &s, &h[PRESENCE], "presence", p.presence_db, p.presence_db >= 0);
  name_gain(c, &s, &h[SIDE_TREBLE], "sides", p.side_treble_db,
            p.side_treble_db >= 0);
  (void)snprintf(text, sizeof(text),
                 p.low_cut_hz > 20.0F ? "%.0f Hz" : "low cut off",
                 (double)p.low_cut_hz);
  names_print(c, &s, h[LOW_CUT].x, h[LOW_CUT].y, NAMES_LEFT, text);
  (void)snprintf(text, sizeof(text),
                 p.mono_below_hz > 0.0F ? "sides, mono below %.0f"
                                        : "sides, mono below: off",
                 (double)p.mono_below_hz);
  names_print(c, &s, h[MONO].x, h[MONO].y, NAMES_RIGHT, text);
}

static void
draw_gains(chart* c, const chart_area* a)
{
  static const double at[] = {24, 18, 12, 6, 0, -6, -12};
  const uint32_t      n    = a->y.hi > 20 ? 7 : a->y.hi > 10 ? 5 : 4;
  chart_axis_y(c, a, at + 7 - n, n, "dB");
}

static void
draw_response(chart* c, const picture_view* v)
{
  static const double      hz[]     = {20,   50,   100,  200,   500,
                                       1000, 2000, 5000, 10000, 20000};
  static const char* const labels[] = {"20", "50", "100", "200", "500",
                                       "1k", "2k", "5k",  "10k", "20 kHz"};

  const chart_area        a   = response_area(v);
  const bus_curves* const r   = v->result[0];
  const bus_curves* const old = v->before[0];
  draw_gains(c, &a);
  chart_axis_x(c, &a, hz, labels, 10);
  chart_level(c, &a, 0.0, CHART_BEFORE);
  if (!r) {
    return;
  }
  if (old) {
    chart_curve(c, &a, old->hz, old->middle_db, BUS_N_HZ, CHART_DRAGGED);
    chart_curve(c, &a, old->hz, old->sides_db, BUS_N_HZ, CHART_DRAGGED);
  }
  chart_curve(c, &a, r->hz, r->middle_db, BUS_N_HZ, CHART_AFTER);
  chart_curve(c, &a, r->hz, r->sides_db, BUS_N_HZ, CHART_SECOND);
  name_handles(c, &a, v);
}

// ---------------------------------------------------------------------------
// Width

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

static void
draw_width(chart* c, const picture_view* v)
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

static void
draw(chart* c, const picture_view* v)
{
  draw_response(c, v);
  draw_width(c, v);
}

/// The correlation now and of the last seconds
static void
draw_now(chart* c, const picture_view* v)
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

static const picture_mark marks[] = {{.draw = draw_now, .hz = 30}};

const picture bus_tone_picture = {
  .stem      = "bus-tone",
  .figures   = figures,
  .n_figures = 2,
  .parts     = parts,
  .n_parts   = 1,
  .draw      = draw,
  .marks     = marks,
  .n_marks   = 1,
  .handles   = handles,
};
