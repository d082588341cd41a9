// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// How do soft and hard playing differ?

#include "common/stages/speaker_breakup.h"

#include "noise.h"
#include "shares.h"

#include <string.h>

enum { RESPONSE, BREAKUP };

#define ROW(field) \
  ((int)(offsetof(speaker_breakup_params, field) / sizeof(float)))

#define LOWEST_HZ  60.0
#define HIGHEST_HZ 8000.0
#define PER_OCTAVE 12.0
#define BEYOND_HZ  (1.06 * HIGHEST_HZ) // So that curves reach the edge

/// The follower goes from 0 to 1 between BREAKUP_SOFT_DBFS and
/// BREAKUP_HARD_DBFS: from below to above, in even steps
enum { N_PLACES = 6, SOFT = 0, HARD = N_PLACES - 1 };
#define BEYOND_DB 2.0

/// Periods of 171 ms before the one that counts
enum { SETTLE = 2, COARSE_SETTLE = 1 };

enum { COARSE_STEP = 6 }; ///< dB between levels while a hand moves

/// As slow as its times go on both sides.  Quick, it would follow each wave of
/// the noise, and what that puts between the lines is not the cone's.
#define FOLLOWER_MS 50.0F

typedef struct {
  uint32_t n;
  float    hz[NOISE_MAX_LINES];
  float    hard_pc[N_PLACES]; ///< What the follower showed
  float    db[N_PLACES][NOISE_MAX_LINES];
} responses;

typedef struct {
  float dbfs[SHARES_N];
  float pc[SHARES_N];
} breakup_share;

static const picture_figure figures[] = {
  {.title     = "Response",
   .subtitle  = "played soft and hard, and now",
   .n_columns = 2},
  {.title     = "Breakup",
   .subtitle  = "share of the sound",
   .column    = 2,
   .n_columns = 1},
};

// ---------------------------------------------------------------------------
// Probes

static uint32_t
inputs_of(const picture_view* v, float* inputs)
{
  speaker_breakup_params p;
  memcpy(&p, v->values, sizeof(p));
  p.attack_ms  = FOLLOWER_MS;
  p.release_ms = FOLLOWER_MS;
  memcpy(inputs, &p, sizeof(p));
  return speaker_breakup_n_params;
}

/// Lines of a twelfth of an octave still show the noise's own chance
static void
smooth(float* db, uint32_t n)
{
  float before = db[0];
  for (uint32_t i = 1; i + 1 < n; ++i) {
    const float now = db[i];
    db[i]           = 0.25F * before + 0.5F * now + 0.25F * db[i + 1];
    before          = now;
  }
}

static bool
compute_responses(probe* p, const float* inputs, bool is_coarse, void* result)
{
  responses* const r        = result;
  const double     drive_db = (double)inputs[ROW(drive_db)];
  const double     step_db =
    (BREAKUP_HARD_DBFS - BREAKUP_SOFT_DBFS + 2 * BEYOND_DB) / (N_PLACES - 1);
  noise s;
  float y[NOISE_FRAMES];
  noise_make(&s, LOWEST_HZ, BEYOND_HZ, PER_OCTAVE);
  r->n = s.n_lines;
  memcpy(r->hz, s.hz, sizeof(r->hz));
  for (uint32_t i = 0; i < N_PLACES; ++i) {
    const double dbfs = BREAKUP_SOFT_DBFS - BEYOND_DB + i * step_db - drive_db;
    const double rms  = db_to_gain(dbfs);
    speaker_breakup_meters m = {0};
    if (!noise_play(&s, p, rms, is_coarse ? COARSE_SETTLE : SETTLE, y)) {
      return false;
    }
    probe_meter(p, &m);
    r->hard_pc[i] = m.follower_pc;
    (void)noise_read(&s, rms, y, r->db[i]);
    smooth(r->db[i], r->n);
  }
  return true;
}

static bool
compute_breakup(probe* p, const float* inputs, bool is_coarse, void* result)
{
  breakup_share* const r    = result;
  const uint32_t       step = is_coarse ? COARSE_STEP : 1;
  noise                s;
  float                y[NOISE_FRAMES];
  float                unused[NOISE_MAX_LINES];
  (void)inputs;
  noise_make(&s, LOWEST_HZ, BEYOND_HZ, PER_OCTAVE);
  shares_levels(r->dbfs);
  for (uint32_t i = 0; i < SHARES_N; i += step) {
    const double rms = db_to_gain((double)r->dbfs[i]);
    if (!noise_play(&s, p, rms, is_coarse ? COARSE_SETTLE : SETTLE, y)) {
      return false;
    }
    r->pc[i] = (float)noise_read(&s, rms, y, unused);
    shares_bridge(r->pc, i, step);
  }
  return true;
}

static const picture_part parts[] = {
  {.size       = sizeof(responses),
   .n_channels = 1,
   .inputs     = inputs_of,
   .compute    = compute_responses},
  {.size       = sizeof(breakup_share),
   .n_channels = 1,
   .inputs     = inputs_of,
   .compute    = compute_breakup},
};

// ---------------------------------------------------------------------------
// Drawing

static const chart_type label = {.size   = 10,
                                 .colour = CHART_INK,
                                 .align  = CHART_CENTRE};

static chart_area
breakup_area(const picture_view* v)
{
  const breakup_share* const r = picture_still(v, BREAKUP);
  return shares_area(v->figure[BREAKUP], r ? r->pc : NULL);
}

static uint32_t
handles(const picture_view* v, picture_handle* h)
{
  const chart_area           a = breakup_area(v);
  const breakup_share* const r = v->result[BREAKUP];
  h[0] = shares_handle(&a, r ? r->dbfs : NULL, r ? r->pc : NULL, ROW(drive_db),
                       &speaker_breakup_param_info[ROW(drive_db)]);
  return 1;
}

/// Wide enough for soft and hard playing
static chart_range
gains_of(const picture_view* v)
{
  const responses* const r   = picture_still(v, RESPONSE);
  float                  top = 0;
  float                  low = 0; // Where a loudspeaker does not end yet
  for (uint32_t i = 0; r && i < r->n; ++i) {
    for (uint32_t k = 0; k < N_PLACES; ++k) {
      top = fmaxf(top, r->db[k][i]);
    }
    if (r->hz[i] > 80 && r->hz[i] < 4000) {
      low = fminf(low, fminf(r->db[SOFT][i], r->db[HARD][i]));
    }
  }
  if (top < 10.0F && low > -14.0F) {
    return (chart_range){-15, 10, false};
  }
  return top < 17.0F && low > -23.0F ? (chart_range){-24, 18, false}
                                     : (chart_range){-36, 36, false};
}

static chart_area
response_area(const picture_view* v)
{
  return chart_area_of(v->figure[RESPONSE],
                       (chart_range){LOWEST_HZ, HIGHEST_HZ, true}, gains_of(v));
}

/// Names a curve at a frequency, on the side away from the other one
static void
name_curve(chart*            c,
           const chart_area* a,
           const responses*  r,
           int               which,
           float             hz,
           const char*       name)
{
  const int    other = which == SOFT ? HARD : SOFT;
  const float  db    = picture_curve_at(r->hz, r->db[which], r->n, hz);
  const float  far   = picture_curve_at(r->hz, r->db[other], r->n, hz);
  const bool   is_up = db > far || (db == far && which == SOFT);
  const double y     = chart_place(&a->y, (double)db) + (is_up ? -7 : 15);
  chart_text(c, label, chart_place(&a->x, (double)hz),
             clampd(y, a->box.y + 8, a->box.y + a->box.h - 4), "%s", name);
}

static void
draw_response(chart* c, const picture_view* v)
{
  static const double      hz[] = {60, 100, 200, 500, 1000, 2000, 4000, 8000};
  static const char* const labels[] = {"60", "100", "200", "500",
                                       "1k", "2k",  "4k",  "8 kHz"};
  static const double      narrow[] = {6, 0, -6, -12};
  static const double      middle[] = {12, 0, -12, -24};
  static const double      wide[]   = {24, 0, -24};

  const chart_area       a   = response_area(v);
  const responses* const r   = v->result[RESPONSE];
  const responses* const old = v->before[RESPONSE];
  if (r) {
    chart_fill(c, &a, r->hz, r->db[SOFT], r->db[HARD], 0, r->n);
  }
  if (a.y.hi < 20) {
    chart_axis_y(c, &a, a.y.hi < 12 ? narrow : middle, 4, "dB");
  } else {
    chart_axis_y(c, &a, wide, 3, "dB");
  }
  chart_axis_x(c, &a, hz, labels, 8);
  chart_level(c, &a, 0, CHART_BEFORE);
  if (!r) {
    return;
  }
  if (old) {
    chart_curve(c, &a, old->hz, old->db[HARD], old->n, CHART_DRAGGED);
  }
  chart_curve(c, &a, r->hz, r->db[SOFT], r->n, CHART_SECOND);
  chart_curve(c, &a, r->hz, r->db[HARD], r->n, CHART_AFTER);
  name_curve(c, &a, r, SOFT, 270, "soft");
  name_curve(c, &a, r, HARD, 520, "hard");
}

static void
draw(chart* c, const picture_view* v)
{
  const chart_area           a   = breakup_area(v);
  const breakup_share* const r   = v->result[BREAKUP];
  const breakup_share* const old = v->before[BREAKUP];
  draw_response(c, v);
  shares_axes(c, &a);
  if (!r) {
    return;
  }
  if (old) {
    chart_curve(c, &a, old->dbfs, old->pc, SHARES_N, CHART_DRAGGED);
  }
  chart_curve(c, &a, r->dbfs, r->pc, SHARES_N, CHART_AFTER);
  picture_handle h;
  (void)handles(v, &h);
  shares_name_handle(c, &a, &h, r->pc);
}

// ---------------------------------------------------------------------------
// What moves

/// The response between those that were played, by how hard it is now
static void
draw_now(chart* c, const picture_view* v)
{
  const responses* const r    = v->result[RESPONSE];
  const float            hard = v->meters[0]; // follower_pc
  if (!r || !v->is_playing || v->is_off) {
    return;
  }
  int i = 1;
  while (i < HARD && r->hard_pc[i] < hard) {
    ++i;
  }
  const float gap = r->hard_pc[i] - r->hard_pc[i - 1];
  const float u =
    gap > 0 ? clampf((hard - r->hard_pc[i - 1]) / gap, 0.0F, 1.0F) : 0.0F;
  float db[NOISE_MAX_LINES];
  for (uint32_t k = 0; k < r->n; ++k) {
    db[k] = r->db[i - 1][k] + u * (r->db[i][k] - r->db[i - 1][k]);
  }
  const chart_area a    = response_area(v);
  chart_type       type = label;
  type.align            = CHART_RIGHT;
  chart_curve(c, &a, r->hz, db, r->n, CHART_NOW);
  chart_text(c, type, a.box.x + a.box.w, a.box.y - 3, "thin: now, %.0f %% hard",
             (double)hard);
}

static void
draw_now_share(chart* c, const picture_view* v)
{
  const chart_area           a = breakup_area(v);
  const breakup_share* const r = v->result[BREAKUP];
  shares_now(c, &a, v, r ? r->dbfs : NULL, r ? r->pc : NULL);
}

/// A whole curve costs more than a mark: not as often
static const picture_mark marks[] = {
  {.draw = draw_now, .hz = 12},
  {.draw = draw_now_share, .hz = 30},
};

const picture speaker_breakup_picture = {
  .stem      = "speaker-breakup",
  .figures   = figures,
  .n_figures = 2,
  .parts     = parts,
  .n_parts   = 2,
  .draw      = draw,
  .marks     = marks,
  .n_marks   = 2,
  .handles   = handles,
};
