// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// How long does each pitch ring, when does it start?

#include "plate_sound.h"

#include <stdio.h>

enum { DECAY, TAIL, MAX_TICKS = 9 };

#define ROW(field) ((int)(offsetof(plate_send_params, field) / sizeof(float)))

#define LOWEST_HZ  63.0
#define HIGHEST_HZ 14000.0

static const double      handles_hz[]            = {100, 1000, 10000};
static const char* const line_names[PLATE_LINES] = {"-20 dB", "-40", "-60"};

static const picture_figure figures[] = {
  {.title = "Decay", .subtitle = "by 60 dB", .n_columns = 1},
  {.title     = "Tail",
   .subtitle  = "of one click: how far it has fallen, pitch by pitch",
   .column    = 1,
   .n_columns = 2},
};

static const picture_part parts[] = {
  {.size       = sizeof(plate_decays),
   .n_channels = 2,
   .inputs     = plate_decays_inputs,
   .compute    = plate_decays_compute},
  {.size       = sizeof(plate_tail),
   .n_channels = 2,
   .inputs     = plate_tail_inputs,
   .compute    = plate_tail_compute},
};

// ---------------------------------------------------------------------------
// Places

static chart_area
decay_area(const picture_view* v)
{
  const plate_send_params p = plate_params_of(v->settled);
  double least              = fmin(plate_time_s(&p, 0), plate_time_s(&p, 2));
  least                     = fmin(least, plate_time_s(&p, 1));
  const bool is_wide        = least < 0.42 || plate_longest_s(&p) > 5.8;
  return chart_area_of(
    v->figure[DECAY], (chart_range){LOWEST_HZ, HIGHEST_HZ, true},
    is_wide ? (chart_range){0.08, 20, true} : (chart_range){0.4, 6, true});
}

static chart_area
tail_area(const picture_view* v)
{
  const plate_send_params p = plate_params_of(v->settled);
  const double            end_s =
    1.25 * plate_longest_s(&p) + 1e-3 * (double)p.predelay_ms;
  return chart_area_of(
    v->figure[TAIL], (chart_range){0, end_s, false},
    (chart_range){1e-3 * LOWEST_HZ, 1e-3 * HIGHEST_HZ, true});
}

static uint32_t
handles(const picture_view* v, picture_handle* h)
{
  static const int        rows[] = {ROW(low_decay_pc), ROW(decay_s),
                                    ROW(high_decay_pc)};
  const plate_send_params p      = plate_params_of(v->values);
  const chart_area        a      = decay_area(v);
  const chart_area        t      = tail_area(v);
  for (uint32_t i = 0; i < 3; ++i) {
    const param_info* const info = &plate_send_param_info[rows[i]];
    const double            y    = chart_place(&a.y, plate_time_s(&p, i));
    // Shares are linear, on a logarithmic scale: as steep as where they are
    const double log_px = a.box.h / log(a.y.hi / a.y.lo);
    const double share  = (double)v->values[rows[i]];
    h[i]                = (picture_handle){
                     .x          = chart_place(&a.x, handles_hz[i]),
                     .y          = clampd(y, a.box.y, a.box.y + a.box.h),
                     .across     = -1,
                     .upright    = rows[i],
                     .width      = -1,
                     .upright_px = i == 1 ? picture_span(&a.y, info)
                                          : -log_px * (double)(info->max - info->min) / share,
    };
  }
  h[3] = (picture_handle){
    .x         = chart_place(&t.x, 1e-3 * (double)p.predelay_ms),
    .y         = t.box.y + 0.5 * t.box.h,
    .across    = ROW(predelay_ms),
    .upright   = -1,
    .width     = -1,
    .across_px = fmax(chart_place(&t.x, 0.2) - t.box.x, 40.0),
  };
  return 4;
}

// ---------------------------------------------------------------------------
// Drawing

static const chart_type centred = {.size      = 10,
                                   .colour    = CHART_INK,
                                   .align     = CHART_CENTRE,
                                   .is_backed = true};

static void
draw_decay(chart* c, const picture_view* v)
{
  static const double      hz[]     = {100, 1000, 10000};
  static const char* const labels[] = {"100", "1k", "10 kHz"};
  static const double      narrow[] = {4, 2, 1, 0.5};
  static const double      wide[]   = {8, 4, 2, 1, 0.5, 0.2, 0.1};

  const chart_area          a       = decay_area(v);
  const plate_decays* const r       = v->result[DECAY];
  const plate_decays* const old     = v->before[DECAY];
  const bool                is_wide = a.y.hi > 10;
  chart_axis_y(c, &a, is_wide ? wide : narrow, is_wide ? 7 : 4, "s");
  chart_axis_x(c, &a, hz, labels, 3);
  if (!r) {
    return;
  }
  if (old) {
    chart_curve(c, &a, old->hz, old->decay_s, PLATE_BANDS, CHART_DRAGGED);
  }
  chart_curve(c, &a, r->hz, r->decay_s, PLATE_BANDS, CHART_AFTER);

  const plate_send_params p = plate_params_of(v->values);
  picture_handle          h[PICTURE_MAX_HANDLES];
  (void)handles(v, h);
  for (uint32_t i = 0; i < 3; ++i) {
    const bool is_high = h[i].y - a.box.y < 22;
    chart_text(c, centred, fmin(h[i].x, a.box.x + a.box.w - 14),
               h[i].y + (is_high ? 20 : -11), i == 1 ? "%.2f s" : "%.2f",
               plate_time_s(&p, i));
  }
}

/// Times from 0 to the end of the figure, at most 8 of them
static void
draw_times(chart* c, const chart_area* a)
{
  static const double steps[] = {0.1, 0.2, 0.5, 1.0, 2.0, 5.0};
  double              at[MAX_TICKS];
  char                words[MAX_TICKS][16];
  const char*         labels[MAX_TICKS];
  uint32_t            i = 0;
  while (i < 5 && a->x.hi / steps[i] > MAX_TICKS - 1.5) {
    ++i;
  }
  uint32_t n = 0;
  for (; n < MAX_TICKS && n * steps[i] <= a->x.hi; ++n) {
    const bool is_last = (n + 1) * steps[i] > a->x.hi;
    at[n]              = n * steps[i];
    (void)snprintf(words[n], sizeof(words[n]), is_last ? "%g s" : "%g", at[n]);
    labels[n] = words[n];
  }
  chart_axis_x(c, a, at, labels, n);
}

/// Tints what has not yet fallen by 60 dB
static void
tint_tail(chart* c, const chart_area* a, const plate_tail* r, double first_s)
{
  cairo_save(c->cr);
  cairo_rectangle(c->cr, a->box.x, a->box.y, a->box.w, a->box.h);
  cairo_clip(c->cr);
  chart_use(c, CHART_TINT);
  const double x0 = chart_place(&a->x, first_s);
  cairo_move_to(c->cr, x0, chart_place(&a->y, (double)r->khz[0]));
  for (uint32_t i = 0; i < PLATE_BANDS; ++i) {
    const float t_s = r->t_s[PLATE_LINES - 1][i];
    cairo_line_to(c->cr, isfinite(t_s) ? chart_place(&a->x, (double)t_s) : x0,
                  chart_place(&a->y, (double)r->khz[i]));
  }
  cairo_line_to(c->cr, x0, chart_place(&a->y, (double)r->khz[PLATE_BANDS - 1]));
  cairo_fill(c->cr);
  cairo_restore(c->cr);
  chart_touch(c, a->box.x, a->box.y, a->box.w, a->box.h);
}

static void
draw_lines(chart* c, const chart_area* a, const picture_view* v)
{
  static const chart_line_style styles[] = {CHART_PART, CHART_SECOND,
                                            CHART_AFTER};
  const plate_tail* const       r        = v->result[TAIL];
  const plate_tail* const       old      = v->before[TAIL];
  if (old) {
    chart_curve(c, a, old->t_s[2], old->khz, PLATE_BANDS, CHART_DRAGGED);
  }
  for (uint32_t k = 0; k < PLATE_LINES; ++k) {
    chart_curve(c, a, r->t_s[k], r->khz, PLATE_BANDS, styles[k]);
  }
  for (uint32_t k = 0; k < PLATE_LINES; ++k) {
    const float  t_s = picture_curve_at(r->khz, r->t_s[k], PLATE_BANDS, 0.4F);
    const double x   = chart_place(&a->x, (double)t_s);
    if (x < a->box.x + a->box.w - 20) {
      chart_text(c, centred, x, chart_place(&a->y, 0.4) + 4, "%s",
                 line_names[k]);
    }
  }
}

static void
draw_tail(chart* c, const picture_view* v)
{
  static const double khz[] = {10, 1, 0.1};

  const chart_area        a = tail_area(v);
  const plate_tail* const r = v->result[TAIL];
  const double wait_ms      = (double)plate_params_of(v->values).predelay_ms;
  if (r) {
    tint_tail(c, &a, r, 1e-3 * wait_ms);
  }
  chart_axis_y(c, &a, khz, 3, "kHz");
  draw_times(c, &a);
  if (r) {
    draw_lines(c, &a, v);
  }
  const double     x    = chart_place(&a.x, 1e-3 * wait_ms);
  const double     foot = a.box.y + a.box.h;
  const chart_type type = {.size = 10, .colour = CHART_INK, .is_backed = true};
  chart_line(c, x, a.box.y, x, foot, 1.5, c->is_off ? CHART_GREY : CHART_BLUE);
  chart_text(c, type, x + 5, foot - 6, "struck after %.0f ms", wait_ms);
}

static void
draw(chart* c, const picture_view* v)
{
  draw_decay(c, v);
  draw_tail(c, v);
}

const picture plate_send_picture = {
  .stem      = "plate-send",
  .figures   = figures,
  .n_figures = 2,
  .parts     = parts,
  .n_parts   = 2,
  .draw      = draw,
  .handles   = handles,
};
