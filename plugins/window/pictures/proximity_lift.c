// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// How near, how much bass, which quiet things come up?

#include "names.h"
#include "proximity_plan.h"

#include <stdio.h>

enum { PLAN, BASS, DETAIL };

#define ROW(field) \
  ((int)(offsetof(proximity_lift_params, field) / sizeof(float)))

#define READ_HZ 100.0
#define RANGE_S 10.0

static const picture_figure figures[] = {
  {.title     = "Plan",
   .subtitle  = "from above, to scale",
   .n_columns = 1,
   .is_flush  = true},
  {.title     = "Bass",
   .subtitle  = "against far away",
   .column    = 1,
   .n_columns = 1},
  {.title     = "Detail",
   .subtitle  = "lift against level, RMS",
   .column    = 2,
   .n_columns = 1},
};

static const picture_part parts[] = {
  {.size       = sizeof(near_bass),
   .n_channels = 1,
   .inputs     = near_bass_inputs,
   .compute    = near_bass_compute},
  {.size       = sizeof(detail_law),
   .n_channels = 1,
   .inputs     = detail_law_inputs,
   .compute    = detail_law_compute},
};

enum { BASS_PART, DETAIL_PART };

enum { IN_DB = offsetof(shell_meters, in_db) / sizeof(float) };

static const chart_type muted = {.size = 10, .colour = CHART_MUTED};

static chart_colour
blue(const chart* c)
{
  return c->is_off ? CHART_GREY : CHART_BLUE;
}

// ---------------------------------------------------------------------------
// Places

/// Wide enough for the lift at the lowest pitch
static chart_area
bass_area(const picture_view* v)
{
  const near_bass* const r =
    v->before[BASS_PART] ? v->before[BASS_PART] : v->result[BASS_PART];
  float top = 0;
  for (uint32_t i = 0; r && i < NEAR_N_HZ; ++i) {
    top = fmaxf(top, r->db[i]);
  }
  const double hi = top < 17.5F ? 18 : top < 29.5F ? 30 : 48;
  return chart_area_of(v->figure[BASS],
                       (chart_range){NEAR_LOWEST_HZ, NEAR_HIGHEST_HZ, true},
                       (chart_range){-3 * hi / 18, hi, false});
}

static chart_area
detail_area(const picture_view* v)
{
  const detail_law* const r =
    v->before[DETAIL_PART] ? v->before[DETAIL_PART] : v->result[DETAIL_PART];
  const bool   is_high = v->settled[ROW(lift_db)] > 5.0F;
  const float  rest    = r ? r->rest_db : 0.0F;
  const double lo      = rest > -0.5F ? 0 : rest > -5.5F ? -6 : -12;
  return chart_area_of(v->figure[DETAIL],
                       (chart_range){DETAIL_LOWEST_DBFS, 0, false},
                       (chart_range){lo, is_high ? 14 : 6, false});
}

static picture_handle
detail_handle(const picture_view* v, double dbfs)
{
  const chart_area        a = detail_area(v);
  const detail_law* const r = v->result[DETAIL_PART];
  const double            db =
    r ? (double)picture_curve_at(r->dbfs, r->db, DETAIL_N, (float)dbfs) : 0.0;
  return (picture_handle){
    .x       = chart_place(&a.x, dbfs),
    .y       = chart_place(&a.y, clampd(db, a.y.lo, a.y.hi)),
    .across  = -1,
    .upright = -1,
    .width   = -1,
  };
}

/// Where the lift is largest: half-way between its half-points
static double
most_dbfs(const proximity_lift_params* p)
{
  return 0.5 * (double)(p->floor_db + p->lift_below_db);
}

enum { LIFT = PLAN_HANDLES, BELOW, FLOOR, N_HANDLES };

static uint32_t
handles(const picture_view* v, picture_handle* h)
{
  const param_info* const     info = proximity_lift_param_info;
  const proximity_lift_params p    = proximity_params_of(v->values);
  const chart_area            a    = detail_area(v);

  proximity_plan_handles(v, h);
  h[LIFT]            = detail_handle(v, most_dbfs(&p));
  h[LIFT].upright    = ROW(lift_db);
  h[LIFT].upright_px = picture_span(&a.y, &info[ROW(lift_db)]);
  h[BELOW]           = detail_handle(v, (double)p.lift_below_db);
  h[BELOW].across    = ROW(lift_below_db);
  h[BELOW].across_px = picture_span(&a.x, &info[ROW(lift_below_db)]);
  h[FLOOR]           = detail_handle(v, (double)p.floor_db);
  h[FLOOR].across    = ROW(floor_db);
  h[FLOOR].across_px = picture_span(&a.x, &info[ROW(floor_db)]);
  return N_HANDLES;
}

// ---------------------------------------------------------------------------
// Bass

static void
draw_reference(chart*            c,
               const chart_area* a,
               const near_bass*  r,
               const float*      db,
               float             hz,
               const char*       name)
{
  const double at   = (double)picture_curve_at(r->hz, db, NEAR_N_HZ, hz);
  chart_type   type = muted;
  type.is_backed    = true;
  type.align        = CHART_CENTRE;
  chart_curve(c, a, r->hz, db, NEAR_N_HZ, CHART_REFERENCE);
  chart_text(c, type, chart_place(&a->x, (double)hz),
             chart_place(&a->y, at) + 4, "%s", name);
}

static void
draw_bass_axes(chart* c, const chart_area* a)
{
  static const double      hz[]     = {20, 50, 100, 200, 500, 2000};
  static const char* const labels[] = {"20",  "50",  "100",
                                       "200", "500", "2 kHz"};
  double                   levels[4];
  for (int i = 0; i < 4; ++i) {
    levels[i] = a->y.hi * (3 - i) / 3;
  }
  chart_axis_y(c, a, levels, 4, "dB");
  chart_axis_x(c, a, hz, labels, 6);
  chart_level(c, a, 0.0, CHART_BEFORE);
}

static void
draw_bass(chart* c, const picture_view* v)
{
  const proximity_lift_params p   = proximity_params_of(v->values);
  const chart_area            a   = bass_area(v);
  const near_bass* const      r   = v->result[BASS_PART];
  const near_bass* const      old = v->before[BASS_PART];
  draw_bass_axes(c, &a);
  if (!r) {
    return;
  }
  // Only those that stand apart from the curve
  if (p.pattern > 0 && fabsf(logf(p.distance_cm / NEAR_FAR_CM)) > 0.4F) {
    draw_reference(c, &a, r, r->far_db, p.distance_cm > NEAR_FAR_CM ? 50 : 150,
                   "25 cm");
  }
  if (p.pattern > 0 && p.distance_cm < 36.0F) {
    draw_reference(c, &a, r, r->farthest_db, 62, "100");
  }
  if (old) {
    chart_curve(c, &a, old->hz, old->db, NEAR_N_HZ, CHART_DRAGGED);
  }
  chart_curve(c, &a, r->hz, r->db, NEAR_N_HZ, CHART_AFTER);
  const float  at = picture_curve_at(r->hz, r->db, NEAR_N_HZ, (float)READ_HZ);
  const double db = fabsf(at) < 0.05F ? 0.0 : (double)at;
  const double x  = chart_place(&a.x, READ_HZ);
  const double y  = chart_place(&a.y, db);
  const chart_type type = {.size = 10, .colour = CHART_INK, .is_backed = true};
  chart_dot(c, x, y, blue(c));
  chart_text(c, type, x + 9, y - 6,
             db == 0.0 ? "%.1f dB at 100 Hz" : "%+.1f dB at 100 Hz", db);
}

// ---------------------------------------------------------------------------
// Detail

static void
name_detail(chart* c, const chart_area* a, const picture_view* v)
{
  const proximity_lift_params p = proximity_params_of(v->values);
  picture_handle              h[PICTURE_MAX_HANDLES];
  char                        text[24];
  (void)handles(v, h);
  names s = names_of(a->box, h + LIFT, 3);
  (void)snprintf(text, sizeof(text), "lift %.1f", (double)p.lift_db);
  names_print(c, &s, h[LIFT].x, h[LIFT].y, NAMES_ABOVE, text);
  (void)snprintf(text, sizeof(text), "%.0f", (double)p.floor_db);
  names_print(c, &s, h[FLOOR].x, h[FLOOR].y, NAMES_LEFT, text);
  (void)snprintf(text, sizeof(text), "%.0f", (double)p.lift_below_db);
  names_print(c, &s, h[BELOW].x, h[BELOW].y, NAMES_RIGHT, text);
}

static void
draw_detail(chart* c, const picture_view* v)
{
  static const double      at[]     = {-96, -72, -48, -24, 0};
  static const char* const labels[] = {"-96", "-72", "-48", "", "0 dBFS"};
  static const double      small[]  = {6, 4, 2, 0, -6, -12};
  static const double      large[]  = {12, 8, 4, 0, -6, -12};

  const chart_area        a   = detail_area(v);
  const detail_law* const r   = v->result[DETAIL_PART];
  const detail_law* const old = v->before[DETAIL_PART];
  const uint32_t          n   = a.y.lo > -1 ? 4 : a.y.lo > -7 ? 5 : 6;
  if (r) {
    chart_fill(c, &a, r->dbfs, r->db, NULL, fmin(0.0, (double)r->rest_db),
               DETAIL_N);
  }
  chart_axis_y(c, &a, a.y.hi > 7 ? large : small, n, "dB");
  chart_axis_x(c, &a, at, labels, 5);
  chart_level(c, &a, 0.0, CHART_BEFORE);
  if (!r) {
    return;
  }
  if (old) {
    chart_curve(c, &a, old->dbfs, old->db, DETAIL_N, CHART_DRAGGED);
  }
  chart_curve(c, &a, r->dbfs, r->db, DETAIL_N, CHART_AFTER);
  name_detail(c, &a, v);
}

static void
draw(chart* c, const picture_view* v)
{
  proximity_plan_draw(c, v);
  draw_bass(c, v);
  draw_detail(c, v);
}

/// The level of the playing, and the lift that it has got
static void
draw_now(chart* c, const picture_view* v)
{
  const chart_area        a    = detail_area(v);
  const detail_law* const r    = v->result[DETAIL_PART];
  const chart_type        type = {
           .size = 10, .colour = CHART_INK, .align = CHART_RIGHT};
  const double x = a.box.x + a.box.w;
  const double y = a.box.y - 4;
  if (!v->is_playing || v->is_off || !r) {
    chart_text(c, type, x, y, "\xE2\x80\x93");
    return;
  }
  const double db = (double)v->meters[0] + (double)r->rest_db;
  float        lo = 0;
  float        hi = 0;
  chart_now_x(c, &a, (double)v->levels.in_db);
  if (picture_meter_range(v, IN_DB, RANGE_S, &lo, &hi)) {
    chart_range_x(c, &a, (double)lo, (double)hi);
  }
  chart_text(c, type, x, y, "now %.1f dB", fabs(db) < 0.05 ? 0.0 : db);
}

static const picture_mark marks[] = {{.draw = draw_now, .hz = 30}};

const picture proximity_lift_picture = {
  .stem      = "proximity-lift",
  .figures   = figures,
  .n_figures = 3,
  .parts     = parts,
  .n_parts   = 2,
  .draw      = draw,
  .marks     = marks,
  .n_marks   = 1,
  .handles   = handles,
};
