// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// One guitar or two, and what is in the second?

#include "echo_sound.h"
#include "names.h"

#include <stdio.h>

enum { ARRIVALS, TONE };

#define ROW(field) \
  ((int)(offsetof(thickening_echo_params, field) / sizeof(float)))

#define LOWEST_DB      (-60.0)
#define TONE_LOWEST_DB (-48.0)
#define BRACKETS       26.0 // Above the arrivals

// Where the lift has most of its effect and the tape has not yet lost it
#define LIFT_READ_HZ 7000.0

static const picture_figure figures[] = {
  {.title     = "Arrivals",
   .subtitle  = "level against time, all pitches alike",
   .n_columns = 2},
  {.title = "Tone", .subtitle = "of the echo", .column = 2, .n_columns = 1},
};

static const picture_part parts[] = {
  {.size       = sizeof(echo_tone),
   .n_channels = 1,
   .inputs     = echo_tone_inputs,
   .compute    = echo_tone_compute},
};

static const chart_type muted = {.size = 10, .colour = CHART_MUTED};

// ---------------------------------------------------------------------------
// Places

/// Long enough for three arrivals at least
static double
shown_ms(double time_ms)
{
  return time_ms <= 15 ? 60 : time_ms <= 36 ? 120 : time_ms <= 75 ? 250 : 1000;
}

/// The part as a drag began, so that axes stand still
static const echo_tone*
settled_tone(const picture_view* v)
{
  return v->before[0] ? v->before[0] : v->result[0];
}

/// Up to the dry signal, or further where the echo is louder
static chart_area
arrivals_area(const picture_view* v)
{
  const thickening_echo_params p   = echo_params_of(v->settled);
  const echo_tone* const       t   = settled_tone(v);
  const double                 top = t ? echo_arrival_db(t, &p, 1) : 0;
  chart_box                    box = v->figure[ARRIVALS];
  box.y += BRACKETS;
  box.h -= BRACKETS;
  return chart_area_of(box,
                       (chart_range){0, shown_ms((double)p.time_ms), false},
                       (chart_range){LOWEST_DB, top > -0.5 ? 12 : 0, false});
}

static chart_area
tone_area(const picture_view* v)
{
  const thickening_echo_params p   = echo_params_of(v->settled);
  const echo_tone* const       t   = settled_tone(v);
  float                        top = 0;
  if (t) {
    float db[ECHO_N_HZ];
    echo_arrival(t, &p, 1, db);
    for (uint32_t i = 0; i < ECHO_N_HZ; ++i) {
      top = fmaxf(top, db[i]);
    }
  }
  return chart_area_of(
    v->figure[TONE], (chart_range){ECHO_LOWEST_HZ, ECHO_HIGHEST_HZ, true},
    (chart_range){TONE_LOWEST_DB, top > 5.0F ? 24 : 6, false});
}

static double
held(const chart_axis* a, double value)
{
  return chart_place(a, clampd(value, a->lo, a->hi));
}

/// On the curve of the echo
static picture_handle
tone_handle(const picture_view* v, double hz)
{
  const thickening_echo_params p  = echo_params_of(v->values);
  const chart_area             a  = tone_area(v);
  const echo_tone* const       t  = v->result[0];
  double                       at = 0;
  if (t) {
    float db[ECHO_N_HZ];
    echo_arrival(t, &p, 1, db);
    at = (double)picture_curve_at(t->hz, db, ECHO_N_HZ, (float)hz);
  }
  return (picture_handle){.x       = held(&a.x, hz),
                          .y       = held(&a.y, at),
                          .across  = -1,
                          .upright = -1,
                          .width   = -1};
}

enum { ECHO, REPEAT, LOW_CUT, LIFT, N_HANDLES };

static uint32_t
handles(const picture_view* v, picture_handle* h)
{
  const param_info* const      info   = thickening_echo_param_info;
  const thickening_echo_params p      = echo_params_of(v->values);
  const chart_area             a      = arrivals_area(v);
  const chart_area             b      = tone_area(v);
  const echo_tone* const       t      = v->result[0];
  const param_info* const      time   = &info[ROW(time_ms)];
  const param_info* const      fed    = &info[ROW(repeats_pc)];
  const double                 per_ms = a.box.w / (a.x.hi - a.x.lo);
  const double                 per_db = a.box.h / (a.y.hi - a.y.lo);
  const double                 first  = t ? echo_arrival_db(t, &p, 1) : -12;
  const double                 second = t ? echo_arrival_db(t, &p, 2) : -30;

  h[ECHO] = (picture_handle){
    .x       = held(&a.x, (double)p.time_ms),
    .y       = held(&a.y, first),
    .across  = ROW(time_ms),
    .upright = ROW(wet_db),
    .width   = -1,
    // A logarithmic row against even ms: as steep as where it is
    .across_px =
      per_ms * (double)p.time_ms * log((double)(time->max / time->min)),
    .upright_px = picture_span(&a.y, &info[ROW(wet_db)]),
  };
  h[REPEAT] = (picture_handle){
    .x       = held(&a.x, 2.0 * (double)p.time_ms),
    .y       = held(&a.y, second),
    .across  = -1,
    .upright = ROW(repeats_pc),
    .width   = -1,
    // An even share against dB: likewise, and not too steep near 0 %
    .upright_px = -per_db * gain_to_db(exp(1.0)) *
                  (double)((fed->max - fed->min) / fmaxf(p.repeats_pc, 3.0F)),
  };
  h[LOW_CUT]           = tone_handle(v, (double)p.low_cut_hz);
  h[LOW_CUT].across    = ROW(low_cut_hz);
  h[LOW_CUT].across_px = picture_span(&b.x, &info[ROW(low_cut_hz)]);
  h[LIFT]              = tone_handle(v, LIFT_READ_HZ);
  h[LIFT].upright      = ROW(lift_db);
  h[LIFT].upright_px   = picture_span(&b.y, &info[ROW(lift_db)]);
  return N_HANDLES;
}

// ---------------------------------------------------------------------------
// Arrivals

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
    const double y = held(&a->y, db);
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
  (void)handles(v, h);
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

static void
draw_arrivals(chart* c, const picture_view* v)
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

// ---------------------------------------------------------------------------
// Tone

static void
name_tone(chart* c, const chart_area* a, const picture_view* v, const float* db)
{
  const thickening_echo_params p = echo_params_of(v->values);
  const echo_tone* const       t = v->result[0];
  picture_handle               h[PICTURE_MAX_HANDLES];
  char                         text[24];
  (void)handles(v, h);
  names s = names_of(a->box, h + LOW_CUT, 2);
  if (p.low_cut_hz < 1000.0F) {
    (void)snprintf(text, sizeof(text), "%.0f Hz", (double)p.low_cut_hz);
  } else {
    (void)snprintf(text, sizeof(text), "%.2f kHz", 1e-3 * (double)p.low_cut_hz);
  }
  names_print(c, &s, h[LOW_CUT].x, h[LOW_CUT].y, NAMES_LEFT, text);
  (void)snprintf(text, sizeof(text), "lift %.1f", (double)p.lift_db);
  names_print(c, &s, h[LIFT].x, h[LIFT].y, NAMES_ABOVE, text);
  const float at = picture_curve_at(t->hz, db, ECHO_N_HZ, 3000);
  if ((double)at > a->y.lo + 8 && p.repeats_pc > 0) {
    names_print(c, &s, chart_place(&a->x, 3000), chart_place(&a->y, (double)at),
                NAMES_BELOW, "its repeat");
  }
}

static void
draw_tone(chart* c, const picture_view* v)
{
  static const double      hz[]     = {50, 200, 1000, 4000, 16000};
  static const char* const labels[] = {"50", "200", "1k", "", "16 kHz"};
  static const double      levels[] = {24, 12, 0, -12, -24, -36, -48};

  const thickening_echo_params p     = echo_params_of(v->values);
  const thickening_echo_params was   = echo_params_of(v->settled);
  const chart_area             a     = tone_area(v);
  const echo_tone* const       t     = v->result[0];
  const uint32_t               above = a.y.hi > 12 ? 0 : 2;
  float                        db[ECHO_N_HZ];
  chart_axis_y(c, &a, levels + above, 7 - above, "dB");
  chart_axis_x(c, &a, hz, labels, 5);
  chart_level(c, &a, 0.0, CHART_BEFORE);
  chart_text(c, muted, a.box.x + 4, chart_place(&a.y, 0) + 12, "dry");
  if (!t) {
    return;
  }
  if (v->before[0]) {
    echo_arrival(v->before[0], &was, 1, db);
    chart_curve(c, &a, t->hz, db, ECHO_N_HZ, CHART_DRAGGED);
  }
  echo_arrival(t, &p, 1, db);
  chart_curve(c, &a, t->hz, db, ECHO_N_HZ, CHART_AFTER);
  echo_arrival(t, &p, 2, db);
  chart_curve(c, &a, t->hz, db, ECHO_N_HZ, CHART_SECOND);
  name_tone(c, &a, v, db);
}

static void
draw(chart* c, const picture_view* v)
{
  draw_arrivals(c, v);
  draw_tone(c, v);
}

const picture thickening_echo_picture = {
  .stem      = "thickening-echo",
  .figures   = figures,
  .n_figures = 2,
  .parts     = parts,
  .n_parts   = 1,
  .draw      = draw,
  .handles   = handles,
};
