// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "proximity_plan.h"

#include "names.h"

#include <stdio.h>

#define ROW(field) \
  ((int)(offsetof(proximity_lift_params, field) / sizeof(float)))

#define NEAR_CM    30.0F // Beyond it the plan shows FAR_CM
#define FAR_CM     115.0
#define LARGEST_CM 21.0 // Radius that the plan has room for
#define SOURCE_PX  8.0  // Of the drawing; its face is at 0 cm
#define LOBE_PX    28.0 // Of a polar pattern, on axis
#define LEAST_GRIP 17.0 // From the middle, whatever the radius

static const char* const patterns[] = {"omni",          "subcardioid",
                                       "cardioid",      "supercardioid",
                                       "hypercardioid", "figure-8"};

// As in common/stages/proximity_lift.c (textbook values: Eargle 1994)
static const double pressure_share[] = {1.0, 0.7, 0.5, 0.366, 0.25, 0.0};

static chart_colour
blue(const chart* c)
{
  return c->is_off ? CHART_GREY : CHART_BLUE;
}

// ---------------------------------------------------------------------------
// Places

enum { MICROPHONE, SOURCE };

typedef struct {
  chart_axis x; ///< cm from the source's face
  double     middle_y, px_per_cm, top, foot;
} plan;

static plan
plan_of(const picture_view* v)
{
  const chart_box box    = v->figure[0];
  const bool      is_far = v->settled[ROW(distance_cm)] > NEAR_CM;
  const double    left   = box.x + SOURCE_PX;
  const double    w      = box.w - SOURCE_PX;
  const double    px     = is_far ? w / FAR_CM : 0.5 * box.h / LARGEST_CM;
  return (plan){
    .x         = {0, w / px, false, left, left + w},
    .middle_y  = box.y + 0.5 * box.h,
    .px_per_cm = px,
    .top       = box.y,
    .foot      = box.y + box.h,
  };
}

void
proximity_plan_handles(const picture_view* v, picture_handle* h)
{
  const proximity_lift_params p = proximity_params_of(v->values);
  const plan                  g = plan_of(v);
  const param_info* const far   = &proximity_lift_param_info[ROW(distance_cm)];
  const param_info* const size  = &proximity_lift_param_info[ROW(source_cm)];
  const double            edge_px = g.px_per_cm * (double)p.source_cm;

  h[MICROPHONE] = (picture_handle){
    .x       = fmin(chart_place(&g.x, (double)p.distance_cm), g.x.to),
    .y       = g.middle_y,
    .across  = ROW(distance_cm),
    .upright = -1,
    .width   = -1,
    // A logarithmic row against even cm: as steep as where it is
    .across_px =
      g.px_per_cm * (double)p.distance_cm * log((double)(far->max / far->min)),
  };
  h[SOURCE] = (picture_handle){
    .x          = g.x.from,
    .y          = fmax(g.middle_y - fmax(edge_px, LEAST_GRIP), g.top),
    .across     = -1,
    .upright    = ROW(source_cm),
    .width      = -1,
    .upright_px = -g.px_per_cm * (double)(size->max - size->min),
  };
}

// ---------------------------------------------------------------------------
// Drawing

/// The pattern round the microphone, which looks at the source
static void
draw_pattern(chart* c, const plan* g, double x, int pattern)
{
  enum { STEPS = 72 };
  const double share = pressure_share[pattern];
  cairo_save(c->cr);
  cairo_rectangle(c->cr, g->x.from + 1, g->top - 8, g->x.to - g->x.from,
                  g->foot - g->top + 16);
  cairo_clip(c->cr);
  cairo_new_path(c->cr);
  for (int i = 0; i < STEPS; ++i) {
    const double angle = 2 * DSP_PI * i / STEPS;
    const double r     = LOBE_PX * fabs(share + (1 - share) * cos(angle));
    cairo_line_to(c->cr, x - r * cos(angle), g->middle_y + r * sin(angle));
  }
  cairo_close_path(c->cr);
  chart_use(c, CHART_TINT);
  cairo_fill_preserve(c->cr);
  chart_use(c, blue(c));
  cairo_set_line_width(c->cr, 1.25);
  cairo_stroke(c->cr);
  cairo_restore(c->cr);
  chart_touch(c, x - LOBE_PX - 1, g->middle_y - LOBE_PX - 1, 2 * LOBE_PX + 2,
              2 * LOBE_PX + 2);
}

static void
draw_source(chart* c, const plan* g, double radius_cm)
{
  const double half = g->px_per_cm * radius_cm;
  const double y0   = fmax(g->middle_y - half, g->top);
  const double y1   = fmin(g->middle_y + half, g->foot);
  const double h    = fmax(y1 - y0, 2);
  chart_line(c, g->x.from, g->top, g->x.from, g->foot, 1, CHART_RULE);
  chart_rectangle(c, (chart_box){g->x.from - SOURCE_PX, y0, SOURCE_PX - 2, h},
                  CHART_TINT);
  chart_rectangle(c, (chart_box){g->x.from - 2, y0, 3, h},
                  c->is_off ? CHART_GREY : CHART_INK);
}

/// How far, on a line of its own below the microphone
static void
draw_distance(chart* c, const plan* g, double x, double distance_cm)
{
  const double     y    = g->middle_y + LOBE_PX + 16;
  const chart_type type = {.size = 11, .colour = CHART_INK, .is_backed = true};
  const double     w    = chart_text_width(c, type, "%.1f cm", distance_cm);
  chart_line(c, g->x.from, y, x, y, 1, CHART_INK);
  chart_line(c, x, g->middle_y + 6, x, y + 4, 1, CHART_INK);
  chart_text(c, type, fmin(x + 8, g->x.to - w),
             x + 8 + w > g->x.to ? y + 16 : y + 4, "%.1f cm", distance_cm);
}

static void
draw_scale(chart* c, const plan* g)
{
  static const double      near_cm[] = {0, 10, 20, 30, 40};
  static const char* const near_[]   = {"0", "10", "20", "30", "40 cm"};
  static const double      far_cm[]  = {0, 25, 50, 75, 100};
  static const char* const far_[]    = {"0", "25", "50", "75", "100 cm"};

  const bool          is_far  = g->x.hi > 60;
  const double* const at      = is_far ? far_cm : near_cm;
  const char* const*  labels  = is_far ? far_ : near_;
  const chart_type    centred = {
       .size = 10, .colour = CHART_MUTED, .align = CHART_CENTRE};
  chart_line(c, g->x.from, g->foot, g->x.to, g->foot, 1, CHART_GREY);
  for (int i = 0; i < 5 && at[i] <= g->x.hi; ++i) {
    const double x = chart_place(&g->x, at[i]);
    chart_line(c, x, g->foot, x, g->foot + 4, 1, CHART_GREY);
    chart_text(c, centred, x, g->foot + 14, "%s", labels[i]);
  }
}

/// Beside the pattern, on the far side where there is room
static chart_box
name_pattern(chart* c, const plan* g, double x, int pattern)
{
  const double     back = LOBE_PX * fabs(2 * pressure_share[pattern] - 1);
  const chart_type type = {.size = 10, .colour = CHART_INK, .is_backed = true};
  const double     w    = chart_text_width(c, type, "%s", patterns[pattern]);
  double           at   = x + fmax(back, 3) + 6;
  if (at + w > g->x.to) {
    at = x - LOBE_PX - 6 - w;
  }
  chart_text(c, type, at, g->middle_y + 4, "%s", patterns[pattern]);
  return (chart_box){at, g->middle_y - 6, w, 12};
}

void
proximity_plan_draw(chart* c, const picture_view* v)
{
  const proximity_lift_params p       = proximity_params_of(v->values);
  const plan                  g       = plan_of(v);
  const int                   pattern = (int)clampd((double)p.pattern, 0, 5);
  picture_handle              h[PICTURE_MAX_HANDLES];
  char                        text[40];
  proximity_plan_handles(v, h);
  draw_scale(c, &g);
  draw_pattern(c, &g, h[MICROPHONE].x, pattern);
  draw_source(c, &g, (double)p.source_cm);
  draw_distance(c, &g, h[MICROPHONE].x, (double)p.distance_cm);

  const chart_box within = {g.x.from, g.top - 6, g.x.to - g.x.from,
                            g.foot - g.top};
  names           s      = names_of(within, h, 2);
  names_take(&s, name_pattern(c, &g, h[MICROPHONE].x, pattern));
  (void)snprintf(text, sizeof(text), "source, radius %.1f cm",
                 (double)p.source_cm);
  names_print(c, &s, h[SOURCE].x, h[SOURCE].y, NAMES_RIGHT, text);
}
