// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// One guitar or two, and what is in the second?

#include "echo_arrivals.h"
#include "names.h"

#include <stdio.h>

#define ROW(field) \
  ((int)(offsetof(thickening_echo_params, field) / sizeof(float)))

#define TONE_LOWEST_DB (-48.0)

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

static chart_area
tone_area(const picture_view* v)
{
  const thickening_echo_params p   = echo_params_of(v->settled);
  const echo_tone* const       t   = echo_settled(v);
  float                        top = 0;
  if (t) {
    float db[ECHO_N_HZ];
    echo_arrival(t, &p, 1, db);
    for (uint32_t i = 0; i < ECHO_N_HZ; ++i) {
      top = fmaxf(top, db[i]);
    }
  }
  return chart_area_of(
    v->figure[1], (chart_range){ECHO_LOWEST_HZ, ECHO_HIGHEST_HZ, true},
    (chart_range){TONE_LOWEST_DB, top > 5.0F ? 24 : 6, false});
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
  return (picture_handle){.x       = echo_held(&a.x, hz),
                          .y       = echo_held(&a.y, at),
                          .across  = -1,
                          .upright = -1,
                          .width   = -1};
}

enum { LOW_CUT = ARRIVALS_HANDLES, LIFT, N_HANDLES };

static uint32_t
handles(const picture_view* v, picture_handle* h)
{
  const param_info* const      info = thickening_echo_param_info;
  const thickening_echo_params p    = echo_params_of(v->values);
  const chart_area             b    = tone_area(v);

  echo_arrivals_handles(v, h);
  h[LOW_CUT]           = tone_handle(v, (double)p.low_cut_hz);
  h[LOW_CUT].across    = ROW(low_cut_hz);
  h[LOW_CUT].across_px = picture_span(&b.x, &info[ROW(low_cut_hz)]);
  h[LIFT]              = tone_handle(v, LIFT_READ_HZ);
  h[LIFT].upright      = ROW(lift_db);
  h[LIFT].upright_px   = picture_span(&b.y, &info[ROW(lift_db)]);
  return N_HANDLES;
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
  echo_arrivals_draw(c, v);
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
