// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Where do amplifiers and microphones stand, when do reflections come?

#include "room_sound.h"

enum { PLAN, ARRIVALS };

#define ROW(field) ((int)(offsetof(room_send_params, field) / sizeof(float)))

#define LOWEST_DB (-36.0)
#define TEXT_W    118.0 // Beside the plan
#define FOOT_GAP  16.0  // In place of an axis

static const picture_figure figures[] = {
  {.title     = "Plan",
   .subtitle  = "from above, to scale, in metres",
   .n_columns = 2,
   .is_flush  = true},
  {.title     = "Arrivals",
   .subtitle  = "left amplifier at left microphone, near 1 kHz",
   .column    = 2,
   .n_columns = 2},
};

static const picture_part parts[] = {
  {.size       = sizeof(room_rings),
   .n_channels = 2,
   .inputs     = room_rings_inputs,
   .compute    = room_rings_compute},
  {.size       = sizeof(room_arrivals),
   .n_channels = 2,
   .inputs     = room_arrivals_inputs,
   .compute    = room_arrivals_compute},
};

static const chart_type ink     = {.size = 10, .colour = CHART_INK};
static const chart_type muted   = {.size = 10, .colour = CHART_MUTED};
static const chart_type centred = {.size   = 10,
                                   .colour = CHART_INK,
                                   .align  = CHART_CENTRE};

// ---------------------------------------------------------------------------
// Places

static room_layout
layout_of(const room_send_params* p)
{
  return room_layout_of((double)p->volume_m3, (double)p->distance_m,
                        (double)p->spacing_m);
}

typedef struct {
  chart_box box; ///< Of the room
  double    px_per_m;
} plan;

/// A scale that stands still in a drag, with room for a larger room
static plan
plan_of(const picture_view* v, const room_layout* l)
{
  static const double    widths_m[] = {4.6, 5.8, 7.6, 10.5};
  const room_send_params was        = room_params_of(v->settled);
  const room_layout      old        = layout_of(&was);
  const chart_box        all        = v->figure[PLAN];
  uint32_t               i          = 0;
  while (i < 3 && old.size.x > widths_m[i]) {
    ++i;
  }
  const double wide     = (all.w - TEXT_W - 14.0) / widths_m[i];
  const double high     = (all.h + FOOT_GAP) * 5.6 / 4.3 / widths_m[i];
  const double px_per_m = fmin(wide, high);
  const double w        = l->size.x * px_per_m;
  const double h        = l->size.y * px_per_m;
  return (plan){{all.x + 1, all.y + all.h + FOOT_GAP - h, w, h}, px_per_m};
}

static double
plan_x(const plan* p, point_m at)
{
  return p->box.x + at.x * p->px_per_m;
}

static double
plan_y(const plan* p, point_m at)
{
  return p->box.y + p->box.h - at.y * p->px_per_m;
}

/// Up to the straight sound, or further where the room is nearly as loud
static chart_area
arrivals_area(const picture_view* v)
{
  const room_arrivals* const r        = picture_still(v, ARRIVALS);
  const double               until_ms = room_shown_ms(v->settled);
  const double               top_db   = r && r->top_db > -4.0F ? 24.0 : 0.0;
  return chart_area_of(v->figure[ARRIVALS], (chart_range){0, until_ms, false},
                       (chart_range){LOWEST_DB, top_db, false});
}

/// A control on a logarithmic scale against px that are linear in it: as steep
/// as where it is
static double
local_px(const param_info* info, double value, double px)
{
  return px * value * log((double)(info->max / info->min));
}

static picture_handle
microphone_handle(const plan* p, const room_layout* l, int k)
{
  const param_info* const far     = &room_send_param_info[ROW(distance_m)];
  const param_info* const wide    = &room_send_param_info[ROW(spacing_m)];
  const point_m           gap     = {l->microphone[0].x - l->microphone[1].x,
                                     l->microphone[0].y - l->microphone[1].y, 0};
  const double            half    = 0.5 * hypot(gap.x, gap.y) * p->px_per_m;
  const double            upright = local_px(wide, 1.0, fmax(half, 4.0));
  return (picture_handle){
    .x          = plan_x(p, l->microphone[k]),
    .y          = plan_y(p, l->microphone[k]),
    .across     = ROW(distance_m),
    .upright    = ROW(spacing_m),
    .width      = -1,
    .across_px  = local_px(far, l->distance_m, p->px_per_m),
    .upright_px = k == 0 ? -upright : upright,
  };
}

static picture_handle
level_handle(const chart_area* a, double ms, double db, int row)
{
  return (picture_handle){
    .x          = chart_place(&a->x, ms),
    .y          = chart_place(&a->y, clampd(db, a->y.lo, a->y.hi)),
    .across     = -1,
    .upright    = row,
    .width      = -1,
    .upright_px = picture_span(&a->y, &room_send_param_info[row]),
  };
}

enum { LEFT, RIGHT, CORNER, EARLY, LATE };

static uint32_t
handles(const picture_view* v, picture_handle* h)
{
  const room_send_params     set = room_params_of(v->values);
  const room_layout          l   = layout_of(&set);
  const plan                 p   = plan_of(v, &l);
  const chart_area           a   = arrivals_area(v);
  const room_arrivals* const r   = v->result[ARRIVALS];
  const param_info* const    vol = &room_send_param_info[ROW(volume_m3)];
  const chart_box            all = v->figure[PLAN];

  h[LEFT]   = microphone_handle(&p, &l, 0);
  h[RIGHT]  = microphone_handle(&p, &l, 1);
  h[CORNER] = (picture_handle){
    .x         = fmin(p.box.x + p.box.w, all.x + all.w - TEXT_W - 8),
    .y         = fmax(p.box.y, all.y),
    .across    = ROW(volume_m3),
    .upright   = -1,
    .width     = -1,
    .across_px = local_px(vol, 1.0, p.box.w / 3.0), // An edge goes by the root
  };
  if (!r) {
    return 3;
  }
  h[EARLY] = level_handle(&a, (double)r->image_ms[0], (double)r->image_db[0],
                          ROW(early_db));
  const double at_ms =
    (double)r->mixing_ms + 0.28 * (a.x.hi - (double)r->mixing_ms);
  h[LATE] = level_handle(
    &a, at_ms,
    (double)picture_curve_at(r->ms, r->late_db, r->n_ms, (float)at_ms),
    ROW(late_db));
  return 5;
}

// ---------------------------------------------------------------------------
// Plan

static void
dash(chart* c, double on, double off)
{
  const double dashes[] = {on, off};
  cairo_set_dash(c->cr, dashes, on > 0 ? 2 : 0, 0);
}

/// Where the room is as loud as the straight sound
static void
draw_circle(chart* c, const plan* p, const room_layout* l, double radius_m)
{
  const point_m middle = {0.5 * (l->source[0].x + l->source[1].x),
                          0.5 * (l->source[0].y + l->source[1].y), 0};
  const double  r      = radius_m * p->px_per_m;
  cairo_save(c->cr);
  cairo_rectangle(c->cr, p->box.x, p->box.y, p->box.w, p->box.h);
  cairo_clip(c->cr);
  cairo_new_path(c->cr);
  cairo_arc(c->cr, plan_x(p, middle), plan_y(p, middle), r, 0, 2 * DSP_PI);
  chart_use(c, CHART_GREY);
  cairo_set_line_width(c->cr, 1.25);
  dash(c, 1.5, 3);
  cairo_stroke(c->cr);
  cairo_restore(c->cr);
  chart_touch(c, p->box.x, p->box.y, p->box.w, p->box.h);
}

static void
draw_amplifiers(chart* c, const plan* p, const room_layout* l)
{
  chart_type type = muted;
  type.align      = CHART_RIGHT;
  for (int k = 0; k < 2; ++k) {
    const double x = plan_x(p, l->source[k]);
    const double y = plan_y(p, l->source[k]);
    chart_rectangle(c, (chart_box){x - 4, y - 6, 8, 12}, CHART_GREY);
    chart_text(c, type, x - 8, y + 4, k ? "R" : "L");
  }
}

static void
draw_pair(chart*                  c,
          const plan*             p,
          const room_layout*      l,
          const room_send_params* set)
{
  const double x0 = plan_x(p, l->microphone[0]);
  const double y0 = plan_y(p, l->microphone[0]);
  const double x1 = plan_x(p, l->microphone[1]);
  const double y1 = plan_y(p, l->microphone[1]);
  const double xm = 0.5 * (x0 + x1);
  const double ym = 0.5 * (y0 + y1);
  const double xs = 0.5 * (plan_x(p, l->source[0]) + plan_x(p, l->source[1]));
  const double ys = 0.5 * (plan_y(p, l->source[0]) + plan_y(p, l->source[1]));
  chart_type   backed = centred;
  backed.is_backed    = true;
  chart_line(c, x0, y0, x1, y1, 1.5, c->is_off ? CHART_GREY : CHART_BLUE);
  dash(c, 2, 2);
  chart_line(c, xs, ys, xm, ym, 1, CHART_INK);
  dash(c, 0, 0);
  // Right of the pair, or left of it where the wall is near
  const bool is_far = xm > p->box.x + p->box.w - 40;
  chart_type type   = ink;
  type.align        = is_far ? CHART_RIGHT : CHART_LEFT;
  type.is_backed    = true;
  chart_text(c, type, xm + (is_far ? -9 : 9), ym + 4 - (is_far ? 14 : 0),
             "%.2f", (double)set->spacing_m);
  if (xm - xs > 36) {
    chart_text(c, backed, 0.4 * xs + 0.6 * xm, 0.4 * ys + 0.6 * ym + 15, "%.2f",
               l->distance_m);
  } else {
    chart_text(c, type, xm + 9, fmax(y0, y1) + 20, "%.2f away", l->distance_m);
  }
}

static double
critical_m(const room_rings* r, const room_send_params* p)
{
  return 0.057 * sqrt((double)(p->volume_m3 / r->decay_s[1]));
}

/// What the plan cannot show, right of it
static void
draw_words(chart* c, const picture_view* v, const room_rings* r)
{
  static const char* const pitches[] = {"at 250 Hz", "at 1 kHz", "at 4 kHz"};
  const room_send_params   p         = room_params_of(v->values);
  const chart_box          all       = v->figure[PLAN];
  const double             x         = all.x + all.w - TEXT_W + 6;
  double                   y         = all.y + 8;
  chart_text(c, muted, x, y, "rings for");
  for (int i = 0; i < 3; ++i) {
    y += 16;
    chart_type value = {.size = 11, .colour = CHART_INK};
    chart_text(c, value, x, y, "%.2f s", (double)r->decay_s[i]);
    chart_text(c, muted, x + 48, y, "%s", pitches[i]);
  }
  chart_text(c, muted, x, y + 26, "beyond the dotted");
  chart_text(c, muted, x, y + 39, "line, %.2f m, the", critical_m(r, &p));
  chart_text(c, muted, x, y + 52, "room is louder than");
  chart_text(c, muted, x, y + 65, "what comes straight");
}

static void
draw_plan(chart* c, const picture_view* v)
{
  const room_send_params  set = room_params_of(v->values);
  const room_layout       l   = layout_of(&set);
  const plan              p   = plan_of(v, &l);
  const room_rings* const r   = v->result[PLAN];
  const chart_box         all = v->figure[PLAN];
  cairo_save(c->cr); // A room that outgrows the plan while it is dragged
  cairo_rectangle(c->cr, all.x - 4, all.y - 8, all.w - TEXT_W + 6, all.h + 40);
  cairo_clip(c->cr);
  chart_frame(c, p.box, 2, CHART_GREY);
  if (r) {
    draw_circle(c, &p, &l, critical_m(r, &set));
  }
  draw_amplifiers(c, &p, &l);
  draw_pair(c, &p, &l, &set);
  chart_text(c, muted, p.box.x + 6, p.box.y + p.box.h - 7,
             "%.1f \xC3\x97 %.1f, %.1f high", l.size.x, l.size.y, l.size.z);
  cairo_restore(c->cr);
  if (r) {
    draw_words(c, v, r);
  }
}

// ---------------------------------------------------------------------------
// Arrivals

static void
draw_images(chart* c, const chart_area* a, const room_arrivals* r)
{
  const double foot = a->box.y + a->box.h;
  for (uint32_t i = 0; i < r->n_images; ++i) {
    const double x = chart_place(&a->x, (double)r->image_ms[i]);
    const double y = chart_place(&a->y, fmin((double)r->image_db[i], a->y.hi));
    if (y < foot && x < a->box.x + a->box.w) {
      chart_line(c, x, foot, x, y, r->image_order[i] == 1 ? 2.25 : 1,
                 c->is_off ? CHART_GREY : CHART_BLUE);
    }
  }
}

static void
draw_late(chart* c, const chart_area* a, const picture_view* v)
{
  const room_arrivals* const r   = v->result[ARRIVALS];
  const room_arrivals* const old = v->before[ARRIVALS];
  if (old) {
    chart_curve(c, a, old->ms, old->late_db, old->n_ms, CHART_DRAGGED);
  }
  chart_curve(c, a, r->ms, r->late_db, r->n_ms, CHART_AFTER);
  const double x = chart_place(&a->x, (double)r->mixing_ms);
  dash(c, 1.5, 2.5);
  chart_line(c, x, a->box.y + 16, x, a->box.y + a->box.h, 1.25, CHART_MUTED);
  dash(c, 0, 0);
  chart_type type = ink;
  type.align      = CHART_RIGHT;
  type.is_backed  = true;
  chart_text(c, type, a->box.x + a->box.w - 2, a->box.y + 11, "reverberation");
}

/// Above the curve for as long as the name is
static double
late_name_y(const chart_area* a, const room_arrivals* r, double x, double y)
{
  for (uint32_t i = r->n_mixed; i < r->n_ms; ++i) {
    const double at = chart_place(&a->x, (double)r->ms[i]);
    if (at >= x && at < x + 66) {
      y = fmin(y, chart_place(&a->y, (double)r->late_db[i]));
    }
  }
  return fmax(y - 8, a->box.y + 26);
}

static void
name_levels(chart* c, const picture_view* v)
{
  const room_send_params     p = room_params_of(v->values);
  const chart_area           a = arrivals_area(v);
  const room_arrivals* const r = v->result[ARRIVALS];
  picture_handle             h[PICTURE_MAX_HANDLES];
  (void)handles(v, h);
  chart_type backed = ink;
  backed.is_backed  = true;
  chart_text(c, backed, h[EARLY].x + 9, fmax(h[EARLY].y - 7, a.box.y + 26),
             "early %.1f", (double)p.early_db);
  chart_text(c, backed, h[LATE].x + 9, late_name_y(&a, r, h[LATE].x, h[LATE].y),
             "late %.1f", (double)p.late_db);
}

static void
draw_arrivals(chart* c, const picture_view* v)
{
  static const double      at[]      = {24, 12, 0, -12, -24, -36};
  static const double      near_ms[] = {0, 15, 30, 45, 60, 75, 90};
  static const double      far_ms[]  = {0, 40, 80, 120, 160, 200};
  static const char* const near_[]   = {"0",  "15", "30",   "45",
                                        "60", "75", "90 ms"};
  static const char* const far_[] = {"0", "40", "80", "120", "160", "200 ms"};

  const chart_area           a       = arrivals_area(v);
  const room_arrivals* const r       = v->result[ARRIVALS];
  const bool                 is_near = a.x.hi < 100;
  if (r) {
    const uint32_t from = r->n_mixed;
    chart_fill(c, &a, r->ms + from, r->late_db + from, NULL, LOWEST_DB,
               r->n_ms - from);
  }
  const double* const levels = a.y.hi > 1 ? at : at + 2;
  chart_axis_y(c, &a, levels, a.y.hi > 1 ? 6 : 4, "dB");
  chart_axis_x(c, &a, is_near ? near_ms : far_ms, is_near ? near_ : far_,
               is_near ? 7 : 6);
  const double straight = chart_place(&a.y, 0.0);
  const double foot     = a.box.y + a.box.h;
  chart_rectangle(c, (chart_box){a.box.x, straight, 3, foot - straight},
                  CHART_GREY);
  chart_type type = muted;
  type.is_backed  = true;
  if (r) {
    draw_images(c, &a, r);
    draw_late(c, &a, v);
    name_levels(c, v);
  }
  chart_text(c, type, a.box.x + 8, a.box.y + 11,
             "straight: stays in the track");
}

static void
draw(chart* c, const picture_view* v)
{
  draw_plan(c, v);
  draw_arrivals(c, v);
}

const picture room_send_picture = {
  .stem      = "room-send",
  .figures   = figures,
  .n_figures = 2,
  .parts     = parts,
  .n_parts   = 2,
  .draw      = draw,
  .handles   = handles,
};
