// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// What happens to the middle, what to the sides, how wide is it?

#include "bus_width.h"
#include "names.h"

#include <stdio.h>

#define LOWEST_DB (-12.0)
#define CLOSE_PX  12.0 // Handles nearer than that stand apart

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
  return chart_area_of(v->figure[0],
                       (chart_range){BUS_LOWEST_HZ, BUS_HIGHEST_HZ, true},
                       (chart_range){LOWEST_DB, hi, false});
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
  h[WIDE] = bus_width_handle(v);
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

static void
draw(chart* c, const picture_view* v)
{
  draw_response(c, v);
  bus_width_draw(c, v);
}

static const picture_mark marks[] = {{.draw = bus_width_now, .hz = 30}};

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
