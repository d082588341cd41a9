// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// What do I take off, does the take sit right?

#include "common/stages/di_cleanup.h"

#include "picture.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum {
  N_EVEN  = 240, ///< Frequencies spread evenly,
  N_NOTCH = 7,   ///< and more of them in each notch
  N_HZ    = N_EVEN + N_NOTCH * HUM_HARMONICS,
};

/// Of the click's answer: notches ring longest
enum { NOTCHED_FRAMES = 48000, FRAMES = 16384, COARSE_FRAMES = 8192 };

#define ROW(field) ((int)(offsetof(di_cleanup_params, field) / sizeof(float)))

#define LOWEST_HZ  20.0
#define HIGHEST_HZ 20000.0
#define CLICK      0.1F

// Standard tuning: the open sixth string, and the first at the 24th fret (E2
// and E6, equal temperament, A4 at 440 Hz)
#define LOWEST_NOTE_HZ  82.407
#define HIGHEST_NOTE_HZ 1318.51

typedef struct {
  float hz[N_HZ];
  float db[N_HZ];
  float bare_db[N_HZ]; ///< Without the notches: handles stand on it
} response;

static const picture_figure figures[] = {
  {.title     = "Response",
   .subtitle  = "of the filters; the gain is left out",
   .n_columns = 4},
};

static di_cleanup_params
params_of(const float* values)
{
  di_cleanup_params p;
  memcpy(&p, values, sizeof(p));
  return p;
}

// ---------------------------------------------------------------------------
// Probe

/// The filters alone
static uint32_t
inputs_of(const picture_view* v, float* inputs)
{
  di_cleanup_params p = params_of(v->values);
  p.gain_db           = 0;
  p.pause_db          = 0;
  memcpy(inputs, &p, sizeof(p));
  return di_cleanup_n_params;
}

static int
compare_hz(const void* a, const void* b)
{
  const float x = *(const float*)a;
  const float y = *(const float*)b;
  return (x > y) - (x < y);
}

/// Writes frequencies in rising order, dense in the notches at multiples of
/// `mains_hz` (0: none); returns how many
static uint32_t
choose_hz(float* hz, double mains_hz)
{
  static const double beside_hz[N_NOTCH] = {-6, -3, -1.2, 0, 1.2, 3, 6};

  uint32_t n = N_EVEN;
  picture_spread(hz, N_EVEN, LOWEST_HZ, HIGHEST_HZ, true);
  if (mains_hz > 0) {
    for (int k = 1; k <= HUM_HARMONICS; ++k) {
      for (int i = 0; i < N_NOTCH; ++i) {
        hz[n++] = (float)(k * mains_hz + beside_hz[i]);
      }
    }
    qsort(hz, n, sizeof(*hz), compare_hz);
  }
  return n;
}

static bool
compute(probe* p, const float* inputs, bool is_coarse, void* result)
{
  static const double mains_hz[] = {0, 50, 60};

  response* const r   = result;
  const uint32_t  hum = (uint32_t)lrintf(inputs[ROW(hum)]);
  const uint32_t  n   = choose_hz(r->hz, mains_hz[hum < 3 ? hum : 0]);

  float bare[di_cleanup_n_params];
  memcpy(bare, inputs, sizeof(bare));
  bare[ROW(hum)]       = 0;
  const uint32_t least = is_coarse ? COARSE_FRAMES : FRAMES;
  const uint32_t most  = is_coarse ? COARSE_FRAMES : NOTCHED_FRAMES;
  probe_set(p, bare);
  if (!probe_response(p, CLICK, least, r->hz, r->bare_db, n)) {
    return false;
  }
  memcpy(r->db, r->bare_db, sizeof(r->db));
  probe_set(p, inputs);
  if (hum && !probe_response(p, CLICK, most, r->hz, r->db, n)) {
    return false;
  }
  for (uint32_t i = n; i < N_HZ; ++i) { // The last one over again
    r->hz[i]      = r->hz[n - 1];
    r->db[i]      = r->db[n - 1];
    r->bare_db[i] = r->bare_db[n - 1];
  }
  return true;
}

static const picture_part parts[] = {
  {.size       = sizeof(response),
   .n_channels = 1,
   .inputs     = inputs_of,
   .compute    = compute},
};

// ---------------------------------------------------------------------------
// Places

enum { LOW_CUT, BODY, PRESENCE, N_GRIPS, N_HANDLES = N_GRIPS + 4 };

/// A bell's rows and values
typedef struct {
  const char* name;
  int         hz_row, db_row, oct_row;
  float       hz, db, oct;
} bell;

static bell
bell_of(const di_cleanup_params* p, int which)
{
  return which == BODY
           ? (bell){"body",     ROW(body_hz), ROW(body_db), ROW(body_oct),
                    p->body_hz, p->body_db,   p->body_oct}
           : (bell){"presence",        ROW(presence_hz), ROW(presence_db),
                    ROW(presence_oct), p->presence_hz,   p->presence_db,
                    p->presence_oct};
}

/// Wide enough for both bells at their highest, one on top of the other
static chart_area
area_of(const picture_view* v)
{
  const response* const r   = picture_still(v, 0);
  float                 top = 0;
  for (uint32_t i = 0; r && i < N_HZ; ++i) {
    top = fmaxf(top, r->db[i]);
  }
  return chart_area_of(v->figure[0], (chart_range){LOWEST_HZ, HIGHEST_HZ, true},
                       (chart_range){-24, top < 8.0F ? 9 : 18, false});
}

static double
height_at(const picture_view* v, const chart_area* a, float hz)
{
  const response* const r = v->result[0];
  const float db = r ? picture_curve_at(r->hz, r->bare_db, N_HZ, hz) : 0.0F;
  return chart_place(&a->y, clampd((double)db, a->y.lo, a->y.hi));
}

static picture_handle
handle_at(double x, double y)
{
  return (picture_handle){
    .x = x, .y = y, .across = -1, .upright = -1, .width = -1};
}

/// Where a bell's name and bracket stand: the name above the handle of a boost
/// and below that of a cut, the bracket below both; or both above, where there
/// is no room
typedef struct {
  double name_y, bracket_y;
} bell_places;

static bell_places
places_of(const chart_area* a, const picture_handle* grip, float db)
{
  if (grip->y > a->box.y + a->box.h - 40) {
    return (bell_places){grip->y - 10, grip->y - 29};
  }
  if (db > 0.0F) {
    return (bell_places){grip->y - 9, grip->y + 18};
  }
  return (bell_places){grip->y + 19, grip->y + 29};
}

/// The two ends of a bell's bracket: its half-gain points, which move by half
/// of what its width does
static void
add_bracket(const picture_view*   v,
            const chart_area*     a,
            const bell*           b,
            const picture_handle* grip,
            picture_handle*       ends)
{
  const param_info* const info      = &di_cleanup_param_info[b->oct_row];
  const double            octave_px = chart_place(&a->x, 40.0) - a->x.from;
  const double            oct       = (double)v->settled[b->oct_row];
  // Of a logarithmic row, as steep as where the drag began
  const double px =
    0.5 * octave_px * oct * log((double)info->max / (double)info->min);
  const double y = places_of(a, grip, b->db).bracket_y;
  for (int i = 0; i < 2; ++i) {
    const double half = (i ? 0.5 : -0.5) * (double)b->oct;
    const double x    = chart_place(&a->x, (double)b->hz * exp2(half));
    ends[i]           = handle_at(clampd(x, a->x.from, a->x.to), y);
    ends[i].across    = b->oct_row;
    ends[i].across_px = i ? px : -px;
  }
}

static uint32_t
handles(const picture_view* v, picture_handle* h)
{
  const di_cleanup_params p = params_of(v->values);
  const chart_area        a = area_of(v);

  h[LOW_CUT]        = handle_at(chart_place(&a.x, (double)p.low_cut_hz),
                                height_at(v, &a, p.low_cut_hz));
  h[LOW_CUT].across = ROW(low_cut_hz);
  h[LOW_CUT].across_px =
    picture_span(&a.x, &di_cleanup_param_info[ROW(low_cut_hz)]);
  for (int i = BODY; i <= PRESENCE; ++i) {
    const bell b = bell_of(&p, i);
    h[i] = handle_at(chart_place(&a.x, (double)b.hz), height_at(v, &a, b.hz));
    h[i].across     = b.hz_row;
    h[i].upright    = b.db_row;
    h[i].width      = b.oct_row;
    h[i].across_px  = picture_span(&a.x, &di_cleanup_param_info[b.hz_row]);
    h[i].upright_px = picture_span(&a.y, &di_cleanup_param_info[b.db_row]);
    add_bracket(v, &a, &b, &h[i], &h[N_GRIPS + 2 * (i - BODY)]);
  }
  return N_HANDLES;
}

// ---------------------------------------------------------------------------
// Drawing

static const chart_type label = {.size = 10, .colour = CHART_INK};
static const chart_type muted = {.size      = 10,
                                 .colour    = CHART_MUTED,
                                 .align     = CHART_CENTRE,
                                 .is_backed = true};

/// A level line with two ends, 6 px high
static void
draw_bracket(chart* c, double x0, double x1, double y, chart_colour colour)
{
  chart_line(c, x0, y, x1, y, 1, colour);
  chart_line(c, x0, y - 3, x0, y + 3, 1, colour);
  chart_line(c, x1, y - 3, x1, y + 3, 1, colour);
}

static void
draw_notes(chart* c, const chart_area* a)
{
  const double x0 = chart_place(&a->x, LOWEST_NOTE_HZ);
  const double x1 = chart_place(&a->x, HIGHEST_NOTE_HZ);
  draw_bracket(c, x0, x1, a->box.y - 6, CHART_GREY);
  chart_text(c, muted, 0.5 * (x0 + x1), a->box.y - 3,
             "notes of a guitar: E, 82 Hz, to E, 1.3 kHz");
}

#define LOW_CUT_NAME "low cut %.0f Hz"

/// Whether a bracket's end stands left of a handle, where its name would
static bool
is_taken(const picture_handle* h, const picture_handle* ends)
{
  for (int i = 0; i < N_HANDLES - N_GRIPS; ++i) {
    if (ends[i].x > h->x - 90 && ends[i].x < h->x + 6 &&
        fabs(ends[i].y - h->y + 8) < 13) {
      return true;
    }
  }
  return false;
}

/// Takes all handles, the low cut's first.  Left of it, on the side of the
/// curve that is free, else right of it; at the edge above the line of no
/// change
static void
name_low_cut(chart* c, const chart_area* a, const picture_handle* h, float hz)
{
  chart_type type = label;
  if (h->x <= a->box.x + 96) {
    chart_text(c, type, a->box.x + 4, chart_place(&a->y, 0) - 7, LOW_CUT_NAME,
               (double)hz);
  } else if (is_taken(h, h + N_GRIPS)) {
    chart_text(c, type, h->x + 10, h->y + 15, LOW_CUT_NAME, (double)hz);
  } else {
    type.align = CHART_RIGHT;
    chart_text(c, type, h->x - 9, h->y - 4, LOW_CUT_NAME, (double)hz);
  }
}

/// A bell's name between its handle and its bracket; `beside` where the other
/// bell is near: to which side it evades
static void
draw_bell(chart*                c,
          const chart_area*     a,
          const bell*           b,
          const picture_handle* grip,
          const picture_handle* ends,
          int                   beside)
{
  chart_type   type = label;
  const double x    = grip->x - 8.0 * beside;
  type.align        = beside < 0   ? CHART_RIGHT
                      : beside > 0 ? CHART_LEFT
                                   : CHART_CENTRE;
  type.is_backed    = true;
  draw_bracket(c, ends[0].x, ends[1].x, ends[0].y,
               c->is_off ? CHART_GREY : CHART_BLUE);
  chart_text(c, type, x, places_of(a, grip, b->db).name_y, "%s %.1f", b->name,
             (double)b->db);
}

static void
draw_names(chart* c, const chart_area* a, const picture_view* v)
{
  const di_cleanup_params p = params_of(v->values);
  picture_handle          h[PICTURE_MAX_HANDLES];
  (void)handles(v, h);
  const bool is_near = h[PRESENCE].x - h[BODY].x < 84;
  for (int i = BODY; i <= PRESENCE; ++i) {
    const bell b      = bell_of(&p, i);
    const int  beside = !is_near ? 0 : i == BODY ? -1 : 1;
    draw_bell(c, a, &b, &h[i], &h[N_GRIPS + 2 * (i - BODY)], beside);
  }
  name_low_cut(c, a, h, p.low_cut_hz);
}

static void
draw(chart* c, const picture_view* v)
{
  static const double      hz[]     = {20,   50,   100,  200,   500,
                                       1000, 2000, 5000, 10000, 20000};
  static const char* const labels[] = {"20", "50", "100", "200", "500",
                                       "1k", "2k", "5k",  "10k", "20 kHz"};
  static const double      gains[]  = {12, 6, 0, -6, -12, -18, -24};

  const chart_area      a      = area_of(v);
  const response* const r      = v->result[0];
  const response* const old    = v->before[0];
  const uint32_t        beyond = a.y.hi < 12 ? 1 : 0;
  if (r) {
    chart_fill(c, &a, r->hz, r->db, NULL, 0.0, N_HZ);
  }
  chart_axis_y(c, &a, gains + beyond, 7 - beyond, "dB");
  chart_axis_x(c, &a, hz, labels, 10);
  chart_level(c, &a, 0.0, CHART_BEFORE);
  draw_notes(c, &a);
  if (!r) {
    return;
  }
  if (old) {
    chart_curve(c, &a, old->hz, old->db, N_HZ, CHART_DRAGGED);
  }
  chart_curve(c, &a, r->hz, r->db, N_HZ, CHART_AFTER);
  draw_names(c, &a, v);
}

/// Prints with its sign, 0 without
static void
print_db(char* text, size_t size, float db)
{
  if (fabsf(db) < 0.05F) {
    (void)snprintf(text, size, "0.0 dB");
  } else {
    (void)snprintf(text, size, "%+.1f dB", (double)db);
  }
}

static di_cleanup_meters
meters_of(const picture_view* v)
{
  di_cleanup_meters m;
  memcpy(&m, v->meters, sizeof(m));
  return m;
}

#define TAKE_OVER "put into gain"

static bool
settled_gain(const picture_view* v, float* value)
{
  const di_cleanup_meters m = meters_of(v);
  *value                    = m.align_db;
  return m.align_ready_pc >= 100.0F;
}

static const picture_act act = {
  .word = TAKE_OVER,
  .name = "Put into gain",
  .help =
    "Sets the gain to the alignment: the playing is at -18 dBFS RMS then.",
  .not_yet =
    "Sets the gain to the alignment, once enough playing has been heard.",
  .row   = ROW(gain_db),
  .value = settled_gain,
};

/// The gain that the take asks for, beside the one that is set, and how much
/// has been heard until it can be trusted
static void
draw_alignment(chart* c, const picture_view* v)
{
  const chart_box         box      = v->figure[0];
  const di_cleanup_meters m        = meters_of(v);
  const float             align_db = m.align_db;
  const float             gain_db  = params_of(v->values).gain_db;
  const chart_type        word     = {.size = 11};
  chart_type              type     = label;
  type.align                       = CHART_RIGHT;
  if (m.align_ready_pc == 0.0F) { // Nothing has been played yet
    return;
  }
  char align[16];
  char gain[16];
  print_db(align, sizeof(align), align_db);
  print_db(gain, sizeof(gain), gain_db);
  const double x = box.x + box.w - chart_text_width(c, word, TAKE_OVER) - 14;
  const double y = box.y - 20;
  if (m.align_ready_pc < 100.0F) {
    chart_text(c, type, x, y, "alignment %s, %.0f %% heard", align,
               floor((double)m.align_ready_pc));
  } else if (fabsf(align_db - gain_db) < 0.25F) {
    chart_text(c, type, x, y, "alignment %s settled, as set", align);
  } else {
    chart_text(c, type, x, y, "alignment %s settled, gain %s", align, gain);
  }
}

static const picture_mark marks[] = {{.draw = draw_alignment, .hz = 30}};

const picture di_cleanup_picture = {
  .stem      = "di-cleanup",
  .figures   = figures,
  .n_figures = 1,
  .parts     = parts,
  .n_parts   = 1,
  .draw      = draw,
  .marks     = marks,
  .n_marks   = 1,
  .handles   = handles,
  .act       = &act,
};
