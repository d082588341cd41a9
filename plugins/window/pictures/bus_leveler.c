// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// How much, how slowly?

#include "leveler_sound.h"
#include "reductions.h"

enum {
  N_LEVELS   = LEVELER_LEVELS,
  N_STEPS    = LEVELER_STEPS,
  HISTORY_HZ = 15,
  HISTORY_S  = 20,
};

enum { LAW, RELEASE, HISTORY };

#define ROW(field) ((int)(offsetof(bus_leveler_params, field) / sizeof(float)))
#define METER(field) \
  (shell_n_meters +  \
   (uint32_t)(offsetof(bus_leveler_meters, field) / sizeof(float)))

#define RANGE_S 15.0

static const picture_figure figures[] = {
  {.title = "How much", .subtitle = "reduction against level", .n_columns = 1},
  {.title     = "How slowly",
   .subtitle  = "the cell lets go",
   .column    = 1,
   .n_columns = 1},
  {.title     = "Gain reduction",
   .subtitle  = "of the cell, last 20 s",
   .column    = 2,
   .n_columns = 1},
};

static const picture_part parts[] = {
  {.size       = sizeof(leveler_law),
   .n_channels = 1,
   .inputs     = leveler_law_inputs,
   .compute    = leveler_law_compute},
  {.size       = sizeof(leveler_release),
   .n_channels = 1,
   .inputs     = leveler_release_inputs,
   .compute    = leveler_release_compute},
};

// ---------------------------------------------------------------------------
// Places

/// The lower end of a scale that holds a reduction
static double
scale_of(double deepest_db, bool is_small)
{
  static const double ends[] = {-2, -4, -8, -16, -24, -48};
  uint32_t            i      = is_small ? 0 : 2;
  while (i < 5 && deepest_db < ends[i]) {
    ++i;
  }
  return ends[i];
}

static chart_area
law_area(const picture_view* v)
{
  const leveler_law* const r   = picture_still(v, LAW);
  const double             low = r ? (double)r->gain_db[N_LEVELS - 1] : 0.0;
  return chart_area_of(v->figure[LAW],
                       (chart_range){LEVELER_LOWEST_DBFS, 0, false},
                       (chart_range){scale_of(low, false), 0, false});
}

static chart_area
release_area(const picture_view* v)
{
  const leveler_release* const r = picture_still(v, RELEASE);
  const double                 low =
    r ? (double)fminf(r->soon_db[0], r->late_db[0]) - 0.1 : 0.0;
  return chart_area_of(v->figure[RELEASE],
                       (chart_range){0, LEVELER_SHOWN_S, false},
                       (chart_range){scale_of(low, true), 0, false});
}

/// On the scale of the law, whatever the blend
static chart_area
history_area(const picture_view* v)
{
  const chart_area a = law_area(v);
  return chart_area_of(v->figure[HISTORY], (chart_range){-HISTORY_S, 0, false},
                       (chart_range){a.y.lo, 0, false});
}

/// Turns a reduction of the cell into the gain that is heard, against soft
static double
heard_db(const picture_view* v, const leveler_law* r, double reduction_db)
{
  const double blend = 0.01 * (double)leveler_params_of(v->values).blend_pc;
  const double soft  = (double)r->soft_gain;
  const double lost  = (soft - 1.0 + blend) * (1.0 - db_to_gain(-reduction_db));
  return gain_to_db(fmax(1.0 - lost / soft, 1e-6));
}

static picture_handle
law_handle(const picture_view* v, double in_dbfs)
{
  const chart_area         a = law_area(v);
  const leveler_law* const r = v->result[LAW];
  const double             x = clampd(in_dbfs, LEVELER_LOWEST_DBFS, 0.0);
  const double             db =
    r ? (double)picture_curve_at(r->in_dbfs, r->gain_db, N_LEVELS, (float)x)
                  : 0.0;
  return (picture_handle){
    .x       = chart_place(&a.x, x),
    .y       = chart_place(&a.y, fmax(db, a.y.lo)),
    .across  = -1,
    .upright = -1,
    .width   = -1,
  };
}

/// Times go with 1 / speed: the px of its whole range from where the hand is
static picture_handle
speed_handle(const picture_view* v, const leveler_release* r)
{
  const chart_area  a     = release_area(v);
  const param_info* speed = &bus_leveler_param_info[ROW(speed_pc)];
  const double      x     = chart_place(&a.x, (double)r->half_s);
  return (picture_handle){
    .x       = x,
    .y       = chart_place(&a.y, 0.5 * (double)r->soon_db[0]),
    .across  = ROW(speed_pc),
    .upright = -1,
    .width   = -1,
    .across_px =
      -fmax(x - a.box.x, 30.0) * log((double)(speed->max / speed->min)),
  };
}

static uint32_t
handles(const picture_view* v, picture_handle* h)
{
  const bus_leveler_params     p  = leveler_params_of(v->values);
  const leveler_law* const     r  = v->result[LAW];
  const leveler_release* const go = v->result[RELEASE];
  const chart_area             a  = law_area(v);
  uint32_t                     n  = 0;

  // The threshold is where the output is: the input is 1 dB above
  h[n]        = law_handle(v, (double)p.threshold_db + 1.0);
  h[n].across = ROW(threshold_db);
  h[n].across_px =
    picture_span(&a.x, &bus_leveler_param_info[ROW(threshold_db)]);
  ++n;
  if (go && go->soon_db[0] < -0.3F && isfinite(go->half_s)) {
    h[n++] = speed_handle(v, go);
  }
  // Nothing to take hold of where the ratio does nothing
  if (r && r->flat_db - r->steep_db > 0.5F) {
    h[n]            = law_handle(v, LEVELER_RATIO_DBFS);
    h[n].upright    = ROW(ratio);
    h[n].upright_px = chart_place(&a.y, (double)r->steep_db) -
                      chart_place(&a.y, (double)r->flat_db);
    ++n;
  }
  return n;
}

// ---------------------------------------------------------------------------
// Drawing

static const chart_type muted = {.size = 10, .colour = CHART_MUTED};
static const chart_type left  = {.size = 10, .colour = CHART_INK};
static const chart_type right = {.size   = 10,
                                 .colour = CHART_INK,
                                 .align  = CHART_RIGHT};

static void
name_threshold(chart* c, const chart_area* a, const picture_view* v)
{
  const double   db = (double)leveler_params_of(v->values).threshold_db;
  picture_handle h[PICTURE_MAX_HANDLES];
  (void)handles(v, h);
  if (h[0].x - a->box.x > 110) {
    chart_text(c, right, h[0].x - 9, h[0].y + 16, "1 dB at %.1f", db);
  } else {
    chart_type backed = left; // Where it crosses the line of 0
    backed.is_backed  = true;
    chart_text(c, backed, h[0].x + 9, h[0].y - 4, "1 dB at %.1f", db);
  }
}

static void
name_ratio(chart* c, const picture_view* v)
{
  picture_handle h[PICTURE_MAX_HANDLES];
  const uint32_t n = handles(v, h);
  if (h[n - 1].upright == ROW(ratio)) {
    chart_text(c, right, h[n - 1].x - 10, h[n - 1].y + 12, "%.1f : 1",
               (double)leveler_params_of(v->values).ratio);
  }
}

static void
draw_law(chart* c, const picture_view* v)
{
  static const double      levels[] = {-48, -36, -24, -12, 0};
  static const char* const labels[] = {"-48", "-36", "-24", "", "0 dBFS"};

  const chart_area         a   = law_area(v);
  const leveler_law* const r   = v->result[LAW];
  const leveler_law* const old = v->before[LAW];
  reductions_axis(c, &a);
  chart_axis_x(c, &a, levels, labels, 5);
  if (!r) {
    return;
  }
  if (old) {
    chart_curve(c, &a, old->in_dbfs, old->gain_db, N_LEVELS, CHART_DRAGGED);
  }
  chart_level(c, &a, 0.0, CHART_BEFORE);
  chart_curve(c, &a, r->in_dbfs, r->gain_db, N_LEVELS, CHART_AFTER);
  name_threshold(c, &a, v);
  name_ratio(c, v);
}

/// A line of the key; dashed for the second curve
static void
draw_key(chart*            c,
         const chart_area* a,
         double            up,
         chart_line_style  s,
         const char*       name)
{
  const float  x[2]  = {0.85F, 0.85F + 0.34F};
  const double y     = a->box.y + a->box.h - up;
  const float  db    = (float)chart_value(&a->y, y - 3.5);
  const float  at[2] = {db, db};
  chart_curve(c, a, x, at, 2, s);
  chart_text(c, muted, chart_place(&a->x, (double)x[1]) + 7, y, "%s", name);
}

static void
name_times(chart* c, const chart_area* a, const leveler_release* r)
{
  chart_type backed = left;
  backed.is_backed  = true;
  if (r->soon_db[0] > -0.3F || !isfinite(r->half_s)) {
    return;
  }
  chart_text(c, backed, chart_place(&a->x, (double)r->half_s) + 10,
             chart_place(&a->y, 0.5 * (double)r->soon_db[0]) + 4,
             "half in %.0f ms", 1e3 * (double)r->half_s);
  if (!isfinite(r->most_s)) {
    return;
  }
  const double x = chart_place(&a->x, (double)r->most_s);
  const double y = chart_place(&a->y, 0.1 * (double)r->soon_db[0]);
  const double w =
    chart_text_width(c, left, "nine tenths in %.1f s", (double)r->most_s);
  chart_dot(c, x, y, c->is_off ? CHART_GREY : CHART_BLUE);
  chart_text(c, backed, fmin(x + 5, a->box.x + a->box.w - w - 2), y + 17,
             "nine tenths in %.1f s", (double)r->most_s);
}

static void
draw_release(chart* c, const picture_view* v)
{
  static const double      at[]     = {0, 1, 2, 3};
  static const char* const labels[] = {"0", "1", "2", "3 s"};

  const chart_area             a   = release_area(v);
  const leveler_release* const r   = v->result[RELEASE];
  const leveler_release* const old = v->before[RELEASE];
  reductions_axis(c, &a);
  chart_axis_x(c, &a, at, labels, 4);
  if (!r) {
    return;
  }
  const bool remembers = leveler_params_of(v->values).memory > 0.0F;
  if (old) {
    chart_curve(c, &a, old->t_s, old->soon_db, N_STEPS, CHART_DRAGGED);
  }
  if (remembers) {
    chart_curve(c, &a, r->t_s, r->late_db, N_STEPS, CHART_SECOND);
    draw_key(c, &a, 9, CHART_SECOND, "after 20 s of it");
  }
  chart_curve(c, &a, r->t_s, r->soon_db, N_STEPS, CHART_AFTER);
  draw_key(c, &a, 24, CHART_AFTER,
           remembers ? "after 1 s at -12 dBFS" : "after -12 dBFS");
  name_times(c, &a, r);
}

static void
draw(chart* c, const picture_view* v)
{
  static const double      at[]     = {-20, -15, -10, -5, 0};
  static const char* const labels[] = {"-20", "-15", "-10", "-5", "0 s"};
  const chart_area         a        = history_area(v);
  draw_law(c, v);
  draw_release(c, v);
  reductions_axis(c, &a);
  chart_axis_x(c, &a, at, labels, 5);
}

// ---------------------------------------------------------------------------
// What moves

/// The level at which the law has this gain
static double
level_of(const leveler_law* r, double gain_db)
{
  uint32_t i = 1;
  while (i < N_LEVELS - 1 && (double)r->gain_db[i] > gain_db) {
    ++i;
  }
  const double a = (double)r->gain_db[i - 1];
  const double b = (double)r->gain_db[i];
  const double u = a > b ? clampd((a - gain_db) / (a - b), 0.0, 1.0) : 0.0;
  return (double)r->in_dbfs[i - 1] +
         u * (double)(r->in_dbfs[i] - r->in_dbfs[i - 1]);
}

/// On the curve where the cell is, and beside it where it was
static void
draw_now(chart* c, const picture_view* v)
{
  const leveler_law* const r = v->result[LAW];
  if (!r || !v->is_playing || v->is_off) {
    return;
  }
  const chart_area a      = law_area(v);
  const double     now_db = heard_db(v, r, (double)v->meters[0]);
  const double     y      = chart_place(&a.y, clampd(now_db, a.y.lo, 0.0));
  float            least  = 0.0F;
  float            most   = 0.0F;
  if (picture_meter_range(v, METER(reduction_db), RANGE_S, &least, &most)) {
    const double y0 = chart_place(&a.y, heard_db(v, r, (double)least));
    const double y1 =
      chart_place(&a.y, fmax(heard_db(v, r, (double)most), a.y.lo));
    chart_rectangle(c, (chart_box){a.box.x, y0 - 1, 3, y1 - y0 + 2}, CHART_INK);
  }
  if (fabs(now_db) > 0.05) {
    chart_dot(c, chart_place(&a.x, level_of(r, now_db)), y, CHART_INK);
  }
  chart_text(c, left, a.box.x + 8, a.box.y + a.box.h - 8, "now %.1f dB",
             now_db < -0.05 ? now_db : 0.0);
}

static void
draw_history(chart* c, const picture_view* v)
{
  const chart_area a = history_area(v);
  reductions_history(c, &a, v, METER(reduction_db), HISTORY_HZ, HISTORY_S);
}

static const picture_mark marks[] = {
  {.draw = draw_now, .hz = 30},
  {.draw = draw_history, .hz = 4},
};

const picture bus_leveler_picture = {
  .stem      = "bus-leveler",
  .figures   = figures,
  .n_figures = 3,
  .parts     = parts,
  .n_parts   = 2,
  .draw      = draw,
  .marks     = marks,
  .n_marks   = 2,
  .handles   = handles,
};
