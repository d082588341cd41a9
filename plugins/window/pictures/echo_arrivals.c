// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "echo_arrivals.h"

#include <stdio.h>

#define ROW(field) \
  ((int)(offsetof(thickening_echo_params, field) / sizeof(float)))

#define LOWEST_DB (-60.0)
#define BRACKETS  26.0 // Above the bars

static const chart_type muted = {.size = 10, .colour = CHART_MUTED};

// ---------------------------------------------------------------------------
// Places

enum { ECHO, REPEAT };

const echo_tone*
echo_settled(const picture_view* v)
{
  return v->before[0] ? v->before[0] : v->result[0];
}

double
echo_held(const chart_axis* a, double value)
{
  return chart_place(a, clampd(value, a->lo, a->hi));
}

/// Long enough for three arrivals at least
static double
shown_ms(double time_ms)
{
  return time_ms <= 15 ? 60 : time_ms <= 36 ? 120 : time_ms <= 75 ? 250 : 1000;
}

/// Up to the dry signal, or further where the echo is louder
static chart_area
arrivals_area(const picture_view* v)
{
  const thickening_echo_params p   = echo_params_of(v->settled);
  const echo_tone* const       t   = echo_settled(v);
  const double                 top = t ? echo_arrival_db(t, &p, 1) : 0;
  chart_box                    box = v->figure[0];
  box.y += BRACKETS;
  box.h -= BRACKETS;
  return chart_area_of(box,
                       (chart_range){0, shown_ms((double)p.time_ms), false},
                       (chart_range){LOWEST_DB, top > -0.5 ? 12 : 0, false});
}

void
echo_arrivals_handles(const picture_view* v, picture_handle* h)
{
  const param_info* const      info   = thickening_echo_param_info;
  const thickening_echo_params p      = echo_params_of(v->values);
  const chart_area             a      = arrivals_area(v);
  const echo_tone* const       t      = v->result[0];
  const param_info* const      time   = &info[ROW(time_ms)];
  const param_info* const      fed    = &info[ROW(repeats_pc)];
  const double                 per_ms = a.box.w / (a.x.hi - a.x.lo);
  const double                 per_db = a.box.h / (a.y.hi - a.y.lo);
  const double                 first  = t ? echo_arrival_db(t, &p, 1) : -12;
  const double                 second = t ? echo_arrival_db(t, &p, 2) : -30;

  h[ECHO] = (picture_handle){
    .x       = echo_held(&a.x, (double)p.time_ms),
    .y       = echo_held(&a.y, first),
    .across  = ROW(time_ms),
    .upright = ROW(wet_db),
    .width   = -1,
    // A logarithmic row against even ms: as steep as where it is
    .across_px =
      per_ms * (double)p.time_ms * log((double)(time->max / time->min)),
    .upright_px = picture_span(&a.y, &info[ROW(wet_db)]),
  };
  h[REPEAT] = (picture_handle){
    .x       = echo_held(&a.x, 2.0 * (double)p.time_ms),
    .y       = echo_held(&a.y, second),
    .across  = -1,
    .upright = ROW(repeats_pc),
    .width   = -1,
    // An even share against dB: likewise, and not too steep near 0 %
    .upright_px = -per_db * gain_to_db(exp(1.0)) *
                  (double)((fed->max - fed->min) / fmaxf(p.repeats_pc, 3.0F)),
  };
}

// ---------------------------------------------------------------------------
// Drawing

/// From when to when an echo has which effect, by the manual.  Named where the
/// bracket is long enough to be seen.
static void
draw_brackets(chart* c, const chart_area* a)
{
  static const struct {
    double      from_ms, to_ms;
    const char* name;
  } effects[] = {
    {0, 10, "colours"}, {20, 40, "doubles"}, {50, 1000, "heard apart"}};

  for (int i = 0; i < 3; ++i) {
    const double x0 = chart_place(&a->x, effects[i].from_ms);
    const double x1 = chart_place(&a->x, fmin(effects[i].to_ms, a->x.hi));
    const double y  = a->box.y - BRACKETS + 15;
    const double w  = chart_text_width(c, muted, "%s", effects[i].name);
    if (x1 - x0 < 24) {
      continue;
    }
    chart_line(c, x0, y, x1, y, 1, CHART_GREY);
    chart_line(c, x0, y - 3, x0, y + 3, 1, CHART_GREY);
    chart_line(c, x1, y - 3, x1, y + 3, 1, CHART_GREY);
    chart_text(c, muted, fmax(0.5 * (x0 + x1 - w), a->box.x), y - 6, "%s",
               effects[i].name);
  }
}

static void
draw_bar(chart*            c,
         const chart_area* a,
         double            ms,
         double            db,
         double            width,
         chart_colour      colour)
{
  if (db > a->y.lo && ms <= a->x.hi) {
    const double x = chart_sharp(c, chart_place(&a->x, ms), width);
    const double y = echo_held(&a->y, db);
    chart_rectangle(
      c, (chart_box){x - 0.5 * width, y, width, a->box.y + a->box.h - y},
      colour);
  }
}

static void
draw_bars(chart*                        c,
          const chart_area*             a,
          const echo_tone*              t,
          const thickening_echo_params* p,
          bool                          is_old)
{
  const chart_colour colour = is_old || c->is_off ? CHART_GREY : CHART_BLUE;
  for (uint32_t k = 1; k * (double)p->time_ms <= a->x.hi; ++k) {
    const double db    = echo_arrival_db(t, p, k);
    const double width = is_old ? 1 : k == 1 ? 5 : 3;
    if (db <= a->y.lo) {
      break;
    }
    draw_bar(c, a, k * (double)p->time_ms, db, width, colour);
  }
}

static void
draw_times(chart* c, const chart_area* a)
{
  static const struct {
    uint32_t    n;
    const char* labels[7];
  } scales[] = {{7, {"0", "10", "20", "30", "40", "50", "60 ms"}},
                {7, {"0", "20", "40", "60", "80", "100", "120 ms"}},
                {6, {"0", "50", "100", "150", "200", "250 ms"}},
                {6, {"0", "200", "400", "600", "800", "1000 ms"}}};

  const int which = a->x.hi < 100   ? 0
                    : a->x.hi < 200 ? 1
                    : a->x.hi < 500 ? 2
                                    : 3;
  float     at[7];
  double    ms[7];
  picture_spread(at, scales[which].n, 0, a->x.hi, false);
  for (uint32_t i = 0; i < scales[which].n; ++i) {
    ms[i] = (double)at[i];
  }
  chart_axis_x(c, a, ms, scales[which].labels, scales[which].n);
}

/// Beside their bars, or in the corner where these stand close
static void
name_arrivals(chart* c, const chart_area* a, const picture_view* v)
{
  const thickening_echo_params p     = echo_params_of(v->values);
  const echo_tone* const       t     = v->result[0];
  const double                 first = echo_arrival_db(t, &p, 1);
  const double                 down  = first - echo_arrival_db(t, &p, 2);
  chart_type     type = {.size = 10, .colour = CHART_INK, .is_backed = true};
  char           repeat[40] = "no repeats";
  picture_handle h[PICTURE_MAX_HANDLES];
  echo_arrivals_handles(v, h);
  if (p.repeats_pc > 0) {
    (void)snprintf(repeat, sizeof(repeat), "repeat, %.1f dB below", down);
  }
  if ((double)p.wet_db <= ECHO_OFF_DB) {
    chart_text(c, type, h[ECHO].x + 9, h[ECHO].y - 8, "echo is off");
  } else if (h[REPEAT].x - h[ECHO].x > (down > 12 ? 84 : 140)) {
    chart_text(c, type, h[ECHO].x + 9,
               fmin(h[ECHO].y + 4, a->box.y + a->box.h - 22), "echo, %.1f ms",
               (double)p.time_ms);
    chart_text(c, type, h[REPEAT].x + 9,
               fmin(h[REPEAT].y + 4, a->box.y + a->box.h - 6), "%s", repeat);
  } else {
    const double x = a->box.x + a->box.w - 2;
    type.align     = CHART_RIGHT;
    chart_text(c, type, x, a->box.y + 14, "echo, %.1f ms", (double)p.time_ms);
    chart_text(c, type, x, a->box.y + 28, "%s", repeat);
  }
}

static void
draw_dry(chart* c, const chart_area* a, bool is_muted)
{
  chart_type type = muted;
  type.is_backed  = true;
  const double y  = chart_place(&a->y, 0.0);
  if (is_muted) {
    chart_text(c, type, a->box.x + 4, y + 12, "dry muted");
  } else {
    draw_bar(c, a, 0.0, 0.0, 5, c->is_off ? CHART_INK : CHART_GREY);
    chart_text(c, type, a->box.x + 7, y + 12, "dry");
  }
}

void
echo_arrivals_draw(chart* c, const picture_view* v)
{
  static const double levels[] = {12, 0, -12, -24, -36, -48, -60};

  const thickening_echo_params p     = echo_params_of(v->values);
  const thickening_echo_params was   = echo_params_of(v->settled);
  const chart_area             a     = arrivals_area(v);
  const uint32_t               above = a.y.hi > 1 ? 0 : 1;
  draw_brackets(c, &a);
  chart_axis_y(c, &a, levels + above, 7 - above, "dB");
  draw_times(c, &a);
  draw_dry(c, &a, p.dry > 0);
  if (v->result[0]) {
    if (v->before[0]) {
      draw_bars(c, &a, v->before[0], &was, true);
    }
    draw_bars(c, &a, v->result[0], &p, false);
    name_arrivals(c, &a, v);
  }
}
