// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Which strokes are turned down, and how fast?

#include "common/stages/input_compressor.h"

#include "picture.h"
#include "reductions.h"

#include <string.h>

enum {
  N_LEVELS    = 49,
  STROKE_HZ   = 220,
  N_STEPS     = 1200, ///< Control grid lines of 0.8 s
  HISTORY_HZ  = 30,
  HISTORY_S   = 10,
  COARSE_STEP = 3, ///< Only each third level while a hand moves
};

enum { LEVEL, STROKE, HISTORY };

#define ROW(field) \
  ((int)(offsetof(input_compressor_params, field) / sizeof(float)))
#define METER(field) \
  (shell_n_meters +  \
   (uint32_t)(offsetof(input_compressor_meters, field) / sizeof(float)))

#define LOWEST_DBFS   (-48.0)
#define STROKE_DBFS   (-3.0)
#define STROKE_FROM_S 0.05
#define STROKE_S      0.3
#define SHOWN_S       0.8

typedef struct {
  float in_dbfs[N_LEVELS]; ///< As a sine's peak
  float out_dbfs[N_LEVELS];
} curve;

typedef struct {
  float    t_s[N_STEPS];
  float    gain_db[N_STEPS]; ///< Minus the reduction
  float    deepest_db;
  float    half_at_s; ///< Where half of it is gone again; NaN: not by the end
  uint32_t n;
} stroke;

static const picture_figure figures[] = {
  {.title = "Level", .subtitle = "out against in, peak", .n_columns = 1},
  {.title     = "One hard stroke",
   .subtitle  = "gain reduction",
   .column    = 1,
   .n_columns = 1},
  {.title     = "Gain reduction",
   .subtitle  = "the last 10 s",
   .column    = 2,
   .n_columns = 1},
};

static input_compressor_params
params_of(const float* values)
{
  input_compressor_params p;
  memcpy(&p, values, sizeof(p));
  return p;
}

// ---------------------------------------------------------------------------
// Probes

/// Sines that have sounded long enough for the timing to have settled
static bool
compute_level(probe* p, const float* inputs, bool is_coarse, void* result)
{
  curve* const                  r    = result;
  const input_compressor_params set  = params_of(inputs);
  const bool                    slow = set.timing > 0.5F;
  const double   settle_s = slow ? 5e-3 * (double)set.attack_ms + 0.02 : 0.25;
  const uint32_t step     = is_coarse ? COARSE_STEP : 1;
  picture_spread(r->in_dbfs, N_LEVELS, LOWEST_DBFS, 0.0, false);
  for (uint32_t i = 0; i < N_LEVELS; i += step) {
    const probe_tone tone = {.hz       = STROKE_HZ,
                             .peak     = db_to_gain((double)r->in_dbfs[i]),
                             .settle_s = settle_s,
                             .count_s  = 0.02};
    probe_answer     a;
    if (!probe_sine(p, &tone, 1, &a)) {
      return false;
    }
    // The power's peak: the edge may bend the wave itself
    r->out_dbfs[i] = (float)gain_to_db(fmax(a.rms * sqrt(2.0), 1e-9));
    for (uint32_t k = 1; k < step && i >= step; ++k) {
      const float u = (float)k / (float)step;
      r->out_dbfs[i - step + k] =
        r->out_dbfs[i - step] + u * (r->out_dbfs[i] - r->out_dbfs[i - step]);
    }
  }
  return true;
}

static void
find_half(stroke* r)
{
  uint32_t lowest = 0;
  for (uint32_t i = 1; i < r->n; ++i) {
    lowest = r->gain_db[i] < r->gain_db[lowest] ? i : lowest;
  }
  r->deepest_db      = r->gain_db[lowest];
  r->half_at_s       = NAN;
  const double end_s = STROKE_FROM_S + STROKE_S;
  for (uint32_t i = lowest; i < r->n; ++i) {
    if ((double)r->t_s[i] > end_s && r->gain_db[i] > 0.5F * r->deepest_db) {
      r->half_at_s = r->t_s[i];
      return;
    }
  }
}

static bool
compute_stroke(probe* p, const float* inputs, bool is_coarse, void* result)
{
  stroke* const r = result;
  const double  w = 2 * DSP_PI * STROKE_HZ / PROBE_RATE_HZ;
  (void)inputs;
  (void)is_coarse;
  for (r->n = 0; r->n < N_STEPS; ++r->n) {
    float                   x[CONTROL_FRAMES];
    input_compressor_meters m   = {0};
    const double            t_s = r->n * CONTROL_FRAMES / PROBE_RATE_HZ;
    const bool sounds = t_s >= STROKE_FROM_S && t_s < STROKE_FROM_S + STROKE_S;
    for (uint32_t i = 0; i < CONTROL_FRAMES; ++i) {
      const double at = w * (double)(r->n * CONTROL_FRAMES + i);
      x[i] = sounds ? (float)(db_to_gain(STROKE_DBFS) * sin(at)) : 0.0F;
    }
    if (!probe_play_one(p, x, x, CONTROL_FRAMES)) {
      return false;
    }
    probe_meter(p, &m);
    r->t_s[r->n]     = (float)t_s;
    r->gain_db[r->n] = -m.reduction_db;
  }
  find_half(r);
  return true;
}

static const picture_part parts[] = {
  {.size = sizeof(curve), .n_channels = 1, .compute = compute_level},
  {.size = sizeof(stroke), .n_channels = 1, .compute = compute_stroke},
};

// ---------------------------------------------------------------------------
// Places

static const chart_range levels = {LOWEST_DBFS, 0, false};

static chart_area
level_area(const picture_view* v)
{
  return chart_area_of(v->figure[LEVEL], levels, levels);
}

/// The scale of reductions: 12 dB, and more where a hard stroke needs it
static double
deepest_of(const picture_view* v)
{
  const stroke* const r   = picture_still(v, STROKE);
  const float         low = r ? r->deepest_db : 0.0F;
  return low > -11.5F ? -12.0 : low > -23.0F ? -24.0 : -48.0;
}

static chart_area
stroke_area(const picture_view* v)
{
  return chart_area_of(v->figure[STROKE], (chart_range){0, SHOWN_S, false},
                       (chart_range){deepest_of(v), 0, false});
}

static chart_area
history_area(const picture_view* v)
{
  return chart_area_of(v->figure[HISTORY], (chart_range){-HISTORY_S, 0, false},
                       (chart_range){deepest_of(v), 0, false});
}

static picture_handle
curve_handle(const picture_view* v, double in_dbfs)
{
  const chart_area   a = level_area(v);
  const curve* const r = v->result[LEVEL];
  const double       x = clampd(in_dbfs, LOWEST_DBFS, 0.0);
  const double       y =
    r ? (double)picture_curve_at(r->in_dbfs, r->out_dbfs, N_LEVELS, (float)x)
            : x;
  return (picture_handle){
    .x       = chart_place(&a.x, x),
    .y       = chart_place(&a.y, clampd(y, LOWEST_DBFS, 0.0)),
    .across  = -1,
    .upright = -1,
    .width   = -1,
  };
}

static picture_handle
time_handle(const picture_view* v, int row, double t_s)
{
  const chart_area    a  = stroke_area(v);
  const stroke* const r  = v->result[STROKE];
  const double        at = fmin(t_s, SHOWN_S);
  const double        y =
    r ? (double)picture_curve_at(r->t_s, r->gain_db, r->n, (float)at) : 0.0;
  return (picture_handle){
    .x         = chart_place(&a.x, at),
    .y         = chart_place(&a.y, y),
    .across    = row,
    .upright   = -1,
    .width     = -1,
    .across_px = a.box.w,
  };
}

enum { THRESHOLD, RATIO, ATTACK, RELEASE };

static uint32_t
handles(const picture_view* v, picture_handle* h)
{
  const input_compressor_params p = params_of(v->values);
  const chart_area              a = level_area(v);

  h[THRESHOLD]        = curve_handle(v, (double)p.threshold_db);
  h[THRESHOLD].across = ROW(threshold_db);
  h[THRESHOLD].width  = ROW(knee_db);
  h[THRESHOLD].across_px =
    picture_span(&a.x, &input_compressor_param_info[ROW(threshold_db)]);

  // Beside the threshold's where that is at the end of the curve
  h[RATIO]            = curve_handle(v, p.threshold_db < -8 ? -3.0 : 0.0);
  h[RATIO].upright    = ROW(ratio);
  h[RATIO].upright_px = a.box.h; // More of it downwards
  if (p.timing < 0.5F) {
    return 2;
  }
  h[ATTACK] =
    time_handle(v, ROW(attack_ms), STROKE_FROM_S + 1e-3 * (double)p.attack_ms);
  h[RELEASE] = time_handle(
    v, ROW(release_ms), STROKE_FROM_S + STROKE_S + 1e-3 * (double)p.release_ms);
  return 4;
}

// ---------------------------------------------------------------------------
// Drawing

static const chart_type muted   = {.size = 10, .colour = CHART_MUTED};
static const chart_type centred = {.size   = 10,
                                   .colour = CHART_INK,
                                   .align  = CHART_CENTRE};
static const chart_type right   = {.size   = 10,
                                   .colour = CHART_INK,
                                   .align  = CHART_RIGHT};

static void
draw_level(chart* c, const picture_view* v)
{
  static const double      at[]       = {0, -12, -24, -36, -48};
  static const double      across[]   = {-48, -36, -24, -12, 0};
  static const char* const figures_[] = {"-48", "-36", "-24", "", "0 dBFS"};
  static const float       ends[]     = {-48, 0};

  const chart_area              a   = level_area(v);
  const curve* const            r   = v->result[LEVEL];
  const curve* const            old = v->before[LEVEL];
  const input_compressor_params p   = params_of(v->values);
  chart_axis_y(c, &a, at, 5, "dBFS");
  chart_axis_x(c, &a, across, figures_, 5);
  chart_curve(c, &a, ends, ends, 2, CHART_BEFORE);
  chart_text(c, muted, chart_place(&a.x, -29), chart_place(&a.y, -38),
             "as it came");
  if (!r) {
    return;
  }
  if (old) {
    chart_curve(c, &a, old->in_dbfs, old->out_dbfs, N_LEVELS, CHART_DRAGGED);
  }
  chart_curve(c, &a, r->in_dbfs, r->out_dbfs, N_LEVELS, CHART_AFTER);
  picture_handle h[PICTURE_MAX_HANDLES];
  (void)handles(v, h);
  chart_text(c, centred, h[THRESHOLD].x, h[THRESHOLD].y + 22, "%.1f",
             (double)p.threshold_db);
  chart_text(c, right, h[RATIO].x + 6, h[RATIO].y + 20, "%.1f : 1",
             (double)p.ratio);
}

static void
draw_half(chart* c, const chart_area* a, const stroke* r)
{
  const double end_s = STROKE_FROM_S + STROKE_S;
  if (r->deepest_db > -0.5F || !isfinite(r->half_at_s)) {
    return;
  }
  const double x      = chart_place(&a->x, (double)r->half_at_s);
  const double y      = chart_place(&a->y, 0.5 * (double)r->deepest_db);
  const double foot   = a->box.y + a->box.h - 32;
  const double dash[] = {1, 3};
  const double most   = a->box.x + a->box.w;
  const double half_w = 50;
  cairo_set_dash(c->cr, dash, 2, 0);
  chart_line(c, x, y + 3, x, foot - 11, 1, CHART_INK);
  cairo_set_dash(c->cr, NULL, 0, 0);
  chart_text(c, centred, fmin(x, most - half_w), foot, "half back in %.0f ms",
             1000.0 * ((double)r->half_at_s - end_s));
}

static void
draw_stroke(chart* c, const picture_view* v)
{
  static const double      at[]       = {0, 0.2, 0.4, 0.6, 0.8};
  static const char* const figures_[] = {"0", "0.2", "0.4", "0.6", "0.8 s"};

  const chart_area    a   = stroke_area(v);
  const stroke* const r   = v->result[STROKE];
  const stroke* const old = v->before[STROKE];
  if (r) {
    chart_fill(c, &a, r->t_s, r->gain_db, NULL, 0.0, r->n);
  }
  reductions_axis(c, &a);
  const double foot = a.box.y + a.box.h;
  const double x0   = chart_place(&a.x, STROKE_FROM_S);
  const double x1   = chart_place(&a.x, STROKE_FROM_S + STROKE_S);
  chart_rectangle(c, (chart_box){x0, foot - 5, x1 - x0, 5}, CHART_GREY);
  chart_text(c, muted, x0, foot - 9, "stroke, %.0f dBFS", STROKE_DBFS);
  chart_axis_x(c, &a, at, figures_, 5);
  if (!r) {
    return;
  }
  if (old) {
    chart_curve(c, &a, old->t_s, old->gain_db, old->n, CHART_DRAGGED);
  }
  draw_half(c, &a, r);
  chart_curve(c, &a, r->t_s, r->gain_db, r->n, CHART_AFTER);
  const double low = chart_place(&a.y, (double)r->deepest_db);
  chart_text(c, centred, 0.5 * (x0 + x1), fmin(low + 15, foot - 22), "%.1f dB",
             (double)r->deepest_db);
}

static void
draw(chart* c, const picture_view* v)
{
  static const double      at[]       = {-10, -8, -6, -4, -2, 0};
  static const char* const figures_[] = {"-10", "-8", "-6", "-4", "-2", "0 s"};
  const chart_area         a          = history_area(v);
  draw_level(c, v);
  draw_stroke(c, v);
  reductions_axis(c, &a);
  chart_axis_x(c, &a, at, figures_, 6);
}

// ---------------------------------------------------------------------------
// What moves

/// The point on the curve where the playing is, with the reduction of now
static void
draw_now(chart* c, const picture_view* v)
{
  const curve* const r = v->result[LEVEL];
  if (!r || !v->is_playing) {
    return;
  }
  const chart_area a    = level_area(v);
  const double in_dbfs  = (double)v->meters[METER(in_peak_db) - shell_n_meters];
  const double fixed_db = (double)(r->out_dbfs[0] - r->in_dbfs[0]);
  const double now_db =
    in_dbfs + (v->is_off ? 0.0 : fixed_db - (double)v->meters[0]);
  if (in_dbfs < LOWEST_DBFS || in_dbfs > 0.0 || now_db < LOWEST_DBFS) {
    return;
  }
  const double x    = chart_place(&a.x, in_dbfs);
  const double y    = chart_place(&a.y, fmin(now_db, 0.0));
  const double foot = a.box.y + a.box.h;
  chart_dot(c, x, y, CHART_INK);
  chart_triangle(c, x, foot, 6, true, CHART_INK);
}

static void
draw_history(chart* c, const picture_view* v)
{
  const chart_area a      = history_area(v);
  const float      now_db = -picture_meter_ago(v, METER(reduction_db), 0.0);
  reductions_history(c, &a, v, METER(reduction_db), HISTORY_HZ, HISTORY_S);
  if (v->is_playing && isfinite(now_db)) {
    const double y = chart_place(&a.y, fmax((double)now_db, a.y.lo));
    const double x = a.box.x + a.box.w;
    chart_rectangle(c, (chart_box){x - 6, y - 1.5, 6, 3}, CHART_INK);
    // Beside the mark it would hide the last seconds
    chart_text(c, right, x - 2, a.box.y + a.box.h - 23, "now %.1f dB",
               fmin((double)now_db, -0.05) + 0.05 < 0 ? (double)now_db : 0.0);
  }
}

static const picture_mark marks[] = {
  {.draw = draw_now, .hz = 30},
  {.draw = draw_history, .hz = 4},
};

const picture input_compressor_picture = {
  .stem      = "input-compressor",
  .figures   = figures,
  .n_figures = 3,
  .parts     = parts,
  .n_parts   = 2,
  .draw      = draw,
  .marks     = marks,
  .n_marks   = 2,
  .handles   = handles,
};
