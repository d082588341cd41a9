// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// What comes on top, and does it stay when the treble is loud?

#include "common/stages/air_shelf.h"

#include "picture.h"

#include <string.h>

enum { N_HZ = 120, N_LEVELS = 49, ANSWER_FRAMES = 2048 };

enum { RESPONSE, GENTLE };

#define ROW(field) ((int)(offsetof(air_shelf_params, field) / sizeof(float)))

#define LOWEST_HZ    500.0
#define HIGHEST_HZ   20000.0
#define LOWEST_DBFS  (-48.0)
#define SOFT_GAIN    1e-4F // The click's treble is far below where gentle begins
#define TREBLE_TONES 3

/// Where each shelf has all of its effect, so that its lift can be read
#define READ_HZ 19000.0

typedef struct {
  float hz[N_HZ];
  float presence_db[N_HZ]; ///< Presence alone
  float soft_db[N_HZ];     ///< Both, treble soft
  float loud_db[N_HZ];     ///< Both, treble loud
} response;

typedef struct {
  float dbfs[N_LEVELS]; ///< Level of the treble, RMS
  float left_pc[N_LEVELS];
  float half_pc[N_LEVELS]; ///< With gentle at 50 %, for comparison
} gentleness;

static const picture_figure figures[] = {
  {.title = "Response", .subtitle = "of both lifts", .n_columns = 2},
  {.title     = "Gentle",
   .subtitle  = "what is left of the lifts",
   .column    = 2,
   .n_columns = 1},
};

// ---------------------------------------------------------------------------
// Response

static air_shelf_params
params_of(const float* values)
{
  air_shelf_params p;
  memcpy(&p, values, sizeof(p));
  return p;
}

/// As long as the treble stays loud: what gentle leaves of the lifts then
static air_shelf_params
when_loud(air_shelf_params p)
{
  const float left = 1.0F - 0.01F * p.gentle_pc;
  p.presence_db *= p.presence_db > 0.0F ? left : 1.0F;
  p.air_db *= p.air_db > 0.0F ? left : 1.0F;
  p.gentle_pc = 0.0F;
  return p;
}

static bool
respond(probe* p, const air_shelf_params* set, float* hz, float* db)
{
  probe_set(p, (const float*)set);
  return probe_response(p, SOFT_GAIN, ANSWER_FRAMES, hz, db, N_HZ);
}

static bool
compute_response(probe* p, const float* inputs, bool is_coarse, void* result)
{
  response* const r = result;
  (void)is_coarse;
  picture_spread(r->hz, N_HZ, LOWEST_HZ, HIGHEST_HZ, true);

  const air_shelf_params set   = params_of(inputs);
  air_shelf_params       alone = set;
  alone.air_db                 = 0.0F;
  const air_shelf_params loud  = when_loud(set);
  return respond(p, &set, r->hz, r->soft_db) &&
         respond(p, &alone, r->hz, r->presence_db) &&
         respond(p, &loud, r->hz, r->loud_db);
}

// ---------------------------------------------------------------------------
// Gentle

/// Lift in dB of a tone near the top whose RMS level is `dbfs`
static bool
lift_at(probe* p, double dbfs, double* lift_db)
{
  const probe_tone tone = {.hz       = READ_HZ,
                           .peak     = db_to_gain(dbfs) * sqrt(2.0),
                           .settle_s = 0.06,
                           .count_s  = 0.004};
  probe_answer     a;
  if (!probe_sine(p, &tone, 1, &a)) {
    return false;
  }
  *lift_db = gain_to_db(fmax(a.amplitude[1], 1e-9) / tone.peak);
  return true;
}

/// Shares of a lift of 9 dB; presence and air give way alike
static bool
find_shares(probe*           p,
            air_shelf_params set,
            float            gentle_pc,
            uint32_t         step,
            const float*     dbfs,
            float*           left_pc)
{
  double whole_db = 0;
  double lift_db  = 0;
  set.presence_db = 9.0F;
  set.air_db      = 0.0F;
  set.gentle_pc   = 0.0F;
  probe_set(p, (const float*)&set);
  if (!lift_at(p, -60.0, &whole_db)) {
    return false;
  }
  set.gentle_pc = gentle_pc;
  probe_set(p, (const float*)&set);
  for (uint32_t i = 0; i < N_LEVELS; i += step) {
    if (!lift_at(p, (double)dbfs[i], &lift_db)) {
      return false;
    }
    left_pc[i] = (float)(100.0 * lift_db / whole_db);
    for (uint32_t k = 1; k < step && i >= step; ++k) { // Those left out
      const float u = (float)k / (float)step;
      left_pc[i - step + k] =
        left_pc[i - step] + u * (left_pc[i] - left_pc[i - step]);
    }
  }
  return true;
}

/// The law depends on gentle and on where the band begins
static uint32_t
gentle_inputs(const picture_view* v, float* inputs)
{
  air_shelf_params p = params_of(v->values);
  p.presence_db      = 0.0F;
  p.air_db           = 0.0F;
  p.air_hz           = 11000.0F;
  p.presence_hz      = 3000.0F;
  memcpy(inputs, &p, sizeof(p));
  return air_shelf_n_params;
}

static bool
compute_gentle(probe* p, const float* inputs, bool is_coarse, void* result)
{
  gentleness* const      r   = result;
  const air_shelf_params set = params_of(inputs);
  picture_spread(r->dbfs, N_LEVELS, LOWEST_DBFS, 0.0, false);
  const uint32_t step = is_coarse ? 4 : 1;
  return find_shares(p, set, set.gentle_pc, step, r->dbfs, r->left_pc) &&
         find_shares(p, set, 50.0F, step, r->dbfs, r->half_pc);
}

static const picture_part parts[] = {
  {.size = sizeof(response), .n_channels = 1, .compute = compute_response},
  {.size       = sizeof(gentleness),
   .n_channels = 1,
   .inputs     = gentle_inputs,
   .compute    = compute_gentle},
};

// ---------------------------------------------------------------------------
// Drawing

/// Wide enough for what the lifts may add up to, in steps
static chart_range
gains_of(const picture_view* v)
{
  const air_shelf_params p   = params_of(v->settled);
  const float            top = p.presence_db + p.air_db;
  const float            low = fminf(fminf(p.presence_db, top), 0.0F);
  const float            up  = fmaxf(fmaxf(p.presence_db, top), 0.0F);
  if (low >= -2.5F && up <= 8.5F) {
    return (chart_range){-3, 9, false};
  }
  return (chart_range){-12, up <= 14.0F ? 15 : 24, false};
}

static chart_area
response_area(const picture_view* v)
{
  return chart_area_of(v->figure[RESPONSE],
                       (chart_range){LOWEST_HZ, HIGHEST_HZ, true}, gains_of(v));
}

static chart_area
gentle_area(const picture_view* v)
{
  return chart_area_of(v->figure[GENTLE], (chart_range){LOWEST_DBFS, 0, false},
                       (chart_range){0, 112, false});
}

static const chart_type label = {.size = 10, .colour = CHART_INK};

static void
draw_gain_axis(chart* c, const chart_area* a)
{
  static const double narrow[] = {9, 6, 3, 0, -3};
  static const double middle[] = {12, 6, 0, -6, -12};
  static const double wide[]   = {24, 18, 12, 6, 0, -6, -12};
  if (a->y.hi < 10) {
    chart_axis_y(c, a, narrow, 5, "dB");
  } else if (a->y.hi < 20) {
    chart_axis_y(c, a, middle, 5, "dB");
  } else {
    chart_axis_y(c, a, wide, 7, "dB");
  }
}

/// A curve's own name, which ends at a frequency, so far below the curve
static void
name_curve(chart*            c,
           const chart_area* a,
           const response*   r,
           const float*      db,
           double            hz,
           double            below,
           const char*       name)
{
  const float high = picture_curve_at(r->hz, db, N_HZ, (float)hz);
  chart_type  type = label;
  type.align       = CHART_RIGHT;
  chart_text(c, type, chart_place(&a->x, hz) - 1,
             chart_place(&a->y, (double)high) + below, "%s", name);
}

static void
draw_curves(chart* c, const chart_area* a, const picture_view* v)
{
  const response* const  r   = v->result[RESPONSE];
  const response* const  old = v->before[RESPONSE];
  const air_shelf_params p   = params_of(v->values);
  if (old) {
    chart_curve(c, a, old->hz, old->soft_db, N_HZ, CHART_DRAGGED);
  }
  if (p.air_db != 0.0F) {
    chart_curve(c, a, r->hz, r->presence_db, N_HZ, CHART_SECOND);
    name_curve(c, a, r, r->presence_db, HIGHEST_HZ, p.air_db > 0 ? 14 : -7,
               "presence alone");
  }
  if (p.gentle_pc > 0 && (p.presence_db > 0 || p.air_db > 0)) {
    chart_curve(c, a, r->hz, r->loud_db, N_HZ, CHART_PART);
    name_curve(c, a, r, r->loud_db, 7000, 15, "loud treble");
  }
  chart_curve(c, a, r->hz, r->soft_db, N_HZ, CHART_AFTER);
}

/// The name of a handle, left of it and above, out of the curve's way
static void
name_handle(chart* c, const picture_handle* h, const char* name, float db)
{
  const chart_type type = {
    .size = 10, .colour = CHART_INK, .align = CHART_RIGHT};
  if (db >= 0) {
    chart_text(c, type, h->x - 9, h->y - 6, "%s %.1f", name, (double)db);
  } else {
    chart_text(c, type, h->x - 9, h->y + 14, "%s %.1f", name, (double)db);
  }
}

static picture_handle
shelf_handle(const picture_view* v, int hz_row, int db_row, float hz)
{
  const chart_area      a = response_area(v);
  const response* const r = v->result[RESPONSE];
  const float db = r ? picture_curve_at(r->hz, r->soft_db, N_HZ, hz) : 0.0F;
  return (picture_handle){
    .x         = chart_place(&a.x, (double)hz),
    .y         = chart_place(&a.y, (double)db),
    .across    = hz_row,
    .upright   = db_row,
    .width     = -1,
    .across_px = picture_span(&a.x, &air_shelf_param_info[hz_row]),
    // At its frequency a shelf has half its gain
    .upright_px = 0.5 * picture_span(&a.y, &air_shelf_param_info[db_row]),
  };
}

static uint32_t
handles(const picture_view* v, picture_handle* h)
{
  const air_shelf_params  p = params_of(v->values);
  const chart_area        g = gentle_area(v);
  const gentleness* const r = v->result[GENTLE];

  h[0] = shelf_handle(v, ROW(presence_hz), ROW(presence_db), p.presence_hz);
  h[1] = shelf_handle(v, ROW(air_hz), ROW(air_db), p.air_hz);
  h[2] = (picture_handle){
    .x = chart_place(&g.x, -12.0),
    .y = chart_place(
      &g.y, r ? (double)picture_curve_at(r->dbfs, r->left_pc, N_LEVELS, -12.0F)
              : 100.0 - (double)p.gentle_pc),
    .across     = -1,
    .upright    = ROW(gentle_pc),
    .width      = -1,
    .upright_px = -picture_span(&g.y, &air_shelf_param_info[ROW(gentle_pc)]),
  };
  return 3;
}

static void
draw_response(chart* c, const picture_view* v)
{
  static const double      hz[]     = {500, 1000, 2000, 5000, 10000, 20000};
  static const char* const labels[] = {"500", "1k",  "2k",
                                       "5k",  "10k", "20 kHz"};

  const chart_area       a = response_area(v);
  const response* const  r = v->result[RESPONSE];
  const air_shelf_params p = params_of(v->values);
  if (r) {
    chart_fill(c, &a, r->hz, r->soft_db, NULL, 0.0, N_HZ);
  }
  draw_gain_axis(c, &a);
  chart_axis_x(c, &a, hz, labels, 6);
  chart_level(c, &a, 0.0, CHART_BEFORE);
  if (r) {
    draw_curves(c, &a, v);
    picture_handle h[PICTURE_MAX_HANDLES];
    (void)handles(v, h);
    name_handle(c, &h[0], "presence", p.presence_db);
    name_handle(c, &h[1], "air", p.air_db);
  }
}

static void
draw_gentle(chart* c, const picture_view* v)
{
  static const double      levels[] = {-48, -36, -24, -12, 0};
  static const char* const labels[] = {"-48", "-36", "-24", "", "0 dBFS"};
  static const double      shares[] = {100, 50, 0};

  const chart_area        a   = gentle_area(v);
  const gentleness* const r   = v->result[GENTLE];
  const gentleness* const old = v->before[GENTLE];
  chart_axis_y(c, &a, shares, 3, "%");
  chart_axis_x(c, &a, levels, labels, 5);
  const chart_type muted = {.size = 10, .colour = CHART_MUTED};
  chart_text(c, muted, chart_place(&a.x, -46.5), a.box.y + a.box.h - 11,
             "level of the treble, RMS");
  if (!r) {
    return;
  }
  const float gentle_pc = params_of(v->values).gentle_pc;
  if (fabsf(gentle_pc - 50.0F) > 12.0F) {
    chart_type type = muted;
    type.align      = CHART_RIGHT;
    chart_curve(c, &a, r->dbfs, r->half_pc, N_LEVELS, CHART_REFERENCE);
    chart_text(c, type, a.box.x + a.box.w - 2, chart_place(&a.y, 50) - 6,
               "at 50 %%");
  }
  if (old) {
    chart_curve(c, &a, old->dbfs, old->left_pc, N_LEVELS, CHART_DRAGGED);
  }
  chart_curve(c, &a, r->dbfs, r->left_pc, N_LEVELS, CHART_AFTER);
  picture_handle h[PICTURE_MAX_HANDLES];
  (void)handles(v, h);
  const chart_type centred = {
    .size = 10, .colour = CHART_INK, .align = CHART_CENTRE, .is_backed = true};
  chart_text(c, centred, h[2].x, h[2].y - 11, "gentle %.0f %%",
             (double)gentle_pc);
}

static void
draw(chart* c, const picture_view* v)
{
  draw_response(c, v);
  draw_gentle(c, v);
}

// ---------------------------------------------------------------------------
// What moves

/// The level of the treble on the curve of what is left of the lifts
static void
draw_now(chart* c, const picture_view* v)
{
  const gentleness* const r = v->result[GENTLE];
  const chart_area        a = gentle_area(v);
  air_shelf_meters        m;
  memcpy(&m, v->meters, sizeof(m));
  const double treble_db = (double)m.treble_db;
  if (!r || !v->is_playing || v->is_off || treble_db < LOWEST_DBFS ||
      treble_db > 0.0) {
    return; // Or not measured, with gentle at 0
  }
  const float left_pc =
    picture_curve_at(r->dbfs, r->left_pc, N_LEVELS, m.treble_db);
  const double x = chart_place(&a.x, treble_db);
  chart_dot(c, x, chart_place(&a.y, (double)left_pc), CHART_INK);
  chart_triangle(c, x, a.box.y + a.box.h, 6, true, CHART_INK);
}

static const picture_mark marks[] = {{.draw = draw_now, .hz = 30}};

const picture air_shelf_picture = {
  .stem      = "air-shelf",
  .figures   = figures,
  .n_figures = 2,
  .parts     = parts,
  .n_parts   = 2,
  .draw      = draw,
  .marks     = marks,
  .n_marks   = 1,
  .handles   = handles,
};
