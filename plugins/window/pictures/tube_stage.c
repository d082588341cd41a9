// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// What does my level do to the wave and to its harmonics?

#include "common/stages/tube_stage.h"

#include "shares.h"

#include <stdio.h>
#include <string.h>

enum { WAVE, HARMONICS };

enum { IN_DB = offsetof(shell_meters, in_db) / sizeof(float) };

enum {
  N_PHASES   = 121, ///< One period, with both ends
  PAST_STEPS = 15,  ///< Of PAST_S
  PERIODS    = 11,  ///< of 220 Hz that take a whole number of frames:
  FOLDED     = 2400 ///< 50 ms at PROBE_RATE_HZ
};

#define ROW(field) ((int)(offsetof(tube_stage_params, field) / sizeof(float)))

#define PROBE_HZ 220.0
#define COUNT_S  (FOLDED / PROBE_RATE_HZ)
#define SETTLE_S 0.4 // Cathodes and supply: harmonics within 0.1 % of theirs
#define COARSE_S 0.15
#define PAST_S   3.0
#define PICKS_DB 12.0F // Peaks of a pick above the playing's RMS

/// Each relative to its input
typedef struct {
  float phase[N_PHASES]; ///< 0 to 1
  float came[N_PHASES];
  float played[N_PHASES]; ///< At `dbfs`
  float picked[N_PHASES]; ///< PICKS_DB above
  float dbfs;             ///< RMS
} wave;

/// In % of the fundamental
typedef struct {
  float dbfs[SHARES_N];
  float all[SHARES_N];
  float second[SHARES_N];
  float third[SHARES_N];
} harmonics;

static const picture_figure figures[] = {
  {.title = "Wave", .subtitle = "of a 220 Hz sine", .n_columns = 1},
  {.title     = "Harmonics",
   .subtitle  = "of 220 Hz, against the level that is played",
   .column    = 1,
   .n_columns = 2},
};

// ---------------------------------------------------------------------------
// Wave

/// Returns how loud the playing of the last seconds was.  Slow, so that the
/// wave stands still for the eye, and is not drawn anew at each stroke.
static double
playing_dbfs(const picture_view* v)
{
  double power = 0;
  int    n     = 0;
  for (int i = 0; i < PAST_STEPS; ++i) {
    const float dbfs = picture_meter_ago(v, IN_DB, i * PAST_S / PAST_STEPS);
    if (isfinite(dbfs)) {
      power += db_to_gain(2 * (double)dbfs);
      ++n;
    }
  }
  return n > 0 ? 0.5 * gain_to_db(fmax(power / n, 1e-12)) : ALIGN_RMS_DBFS;
}

/// Controls, and the level of the wave
static uint32_t
wave_inputs(const picture_view* v, float* inputs)
{
  const double dbfs = v->is_playing ? playing_dbfs(v) : ALIGN_RMS_DBFS;
  memcpy(inputs, v->values, sizeof(tube_stage_params));
  inputs[tube_stage_n_params] =
    (float)clampd(round(dbfs), SHARES_LOWEST_DBFS, 0.0);
  return tube_stage_n_params + 1;
}

/// Plays PERIODS after those of settling; folds them into one, in which each
/// frame has a place of its own
static bool
fold(probe* p, double peak, double settle_s, float* one)
{
  float          x[FOLDED];
  const uint32_t settle = (uint32_t)ceil(settle_s / COUNT_S);
  probe_reset(p);
  for (uint32_t k = 0; k <= settle; ++k) {
    for (uint32_t i = 0; i < FOLDED; ++i) {
      x[i] = (float)(peak * sin(2 * DSP_PI * PERIODS * i / FOLDED));
    }
    if (!probe_play_one(p, x, x, FOLDED)) {
      return false;
    }
  }
  for (uint32_t i = 0; i < FOLDED; ++i) {
    one[PERIODS * i % FOLDED] = x[i] / (float)peak;
  }
  return true;
}

/// Returns by how much of a period the fundamental is late
static double
delay_of(const float* one)
{
  double re = 0;
  double im = 0;
  for (uint32_t i = 0; i < FOLDED; ++i) {
    const double at = 2 * DSP_PI * i / FOLDED;
    re += (double)one[i] * sin(at);
    im += (double)one[i] * cos(at);
  }
  return -atan2(im, re) / (2 * DSP_PI);
}

/// Writes a period in step with its fundamental
static bool
find_wave(probe* p, float dbfs, bool is_coarse, float* y)
{
  const double peak = sqrt(2.0) * db_to_gain((double)dbfs);
  float        one[FOLDED];
  if (!fold(p, peak, is_coarse ? COARSE_S : SETTLE_S, one)) {
    return false;
  }
  const double late = delay_of(one) + 1;
  for (uint32_t i = 0; i < N_PHASES; ++i) {
    const double   at = FOLDED * (late + i / (double)(N_PHASES - 1));
    const uint32_t k  = (uint32_t)at;
    const float    u  = (float)(at - k);
    y[i] = (1.0F - u) * one[k % FOLDED] + u * one[(k + 1) % FOLDED];
  }
  return true;
}

static bool
compute_wave(probe* p, const float* inputs, bool is_coarse, void* result)
{
  wave* const r = result;
  r->dbfs       = inputs[tube_stage_n_params];
  picture_spread(r->phase, N_PHASES, 0, 1, false);
  for (uint32_t i = 0; i < N_PHASES; ++i) {
    r->came[i] = (float)sin(2 * DSP_PI * (double)r->phase[i]);
  }
  return find_wave(p, r->dbfs, is_coarse, r->played) &&
         find_wave(p, r->dbfs + PICKS_DB, is_coarse, r->picked);
}

// ---------------------------------------------------------------------------
// Harmonics

static float
share_of(double part, double fundamental)
{
  return (float)(100 * part / fmax(fundamental, 1e-12));
}

static bool
compute_harmonics(probe* p, const float* inputs, bool is_coarse, void* result)
{
  harmonics* const r    = result;
  const uint32_t   step = is_coarse ? SHARES_COARSE_STEP : 1;
  (void)inputs;
  shares_levels(r->dbfs);
  for (uint32_t i = 0; i < SHARES_N; i += step) {
    const probe_tone tone = {.hz   = PROBE_HZ,
                             .peak = sqrt(2.0) * db_to_gain((double)r->dbfs[i]),
                             .settle_s = is_coarse ? COARSE_S : SETTLE_S,
                             .count_s  = COUNT_S};
    probe_answer     a;
    if (!probe_sine(p, &tone, 3, &a)) {
      return false;
    }
    // All of them are what is left without the fundamental
    const double one = a.amplitude[1];
    const double all = sqrt(fmax(2 * a.rms * a.rms - one * one, 0.0));
    r->all[i]        = share_of(all, one);
    r->second[i]     = share_of(a.amplitude[2], one);
    r->third[i]      = share_of(a.amplitude[3], one);
    shares_bridge(r->all, i, step);
    shares_bridge(r->second, i, step);
    shares_bridge(r->third, i, step);
  }
  return true;
}

static const picture_part parts[] = {
  {.size       = sizeof(wave),
   .n_channels = 1,
   .inputs     = wave_inputs,
   .compute    = compute_wave},
  {.size = sizeof(harmonics), .n_channels = 1, .compute = compute_harmonics},
};

// ---------------------------------------------------------------------------
// Drawing

static const chart_type label = {.size = 10, .colour = CHART_INK};

static chart_area
harmonics_area(const picture_view* v)
{
  const harmonics* const r = picture_still(v, HARMONICS);
  return shares_area(v->figure[HARMONICS], r ? r->all : NULL);
}

static uint32_t
handles(const picture_view* v, picture_handle* h)
{
  const chart_area       a = harmonics_area(v);
  const harmonics* const r = v->result[HARMONICS];
  h[0] = shares_handle(&a, r ? r->dbfs : NULL, r ? r->all : NULL, ROW(drive_db),
                       &tube_stage_param_info[ROW(drive_db)]);
  return 1;
}

/// The end of the wave's scale: 1, and more where soft playing gets louder
static double
top_of(const picture_view* v)
{
  const wave* const r = picture_still(v, WAVE);
  double            y = 0;
  for (uint32_t i = 0; r && i < N_PHASES; ++i) {
    y = fmax(y, (double)fmaxf(fabsf(r->played[i]), fabsf(r->picked[i])));
  }
  return y < 1.15 ? 1 : y < 2.3 ? 2 : y < 4.6 ? 4 : 10;
}

/// A line of the key, in the half that waves leave free
static void
draw_key(chart*            c,
         const chart_area* a,
         int               i,
         chart_line_style  style,
         const char*       name)
{
  const double y    = a->box.y + a->box.h - 49 + 15 * i;
  const float  high = (float)chart_value(&a->y, y - 3.5);
  const float  at[] = {0.03F, 0.13F};
  const float  v[]  = {high, high};
  chart_curve(c, a, at, v, 2, style);
  chart_text(c, label, chart_place(&a->x, 0.16), y, "%s", name);
}

static void
draw_wave(chart* c, const picture_view* v)
{
  static const double      phases[] = {0, 0.25, 0.5, 0.75, 1};
  static const char* const names[]  = {"0", "", "\xC2\xBD", "", "1 period"};

  const double     top  = top_of(v);
  const double     at[] = {top, 0, -top};
  const chart_area a =
    chart_area_of(v->figure[WAVE], (chart_range){0, 1, false},
                  (chart_range){-1.15 * top, 1.15 * top, false});
  const wave* const r   = v->result[WAVE];
  const wave* const old = v->before[WAVE];
  chart_axis_y(c, &a, at, 3, "");
  chart_axis_x(c, &a, phases, names, 5);
  if (!r) {
    return;
  }
  if (old) {
    chart_curve(c, &a, old->phase, old->played, N_PHASES, CHART_DRAGGED);
  }
  chart_curve(c, &a, r->phase, r->came, N_PHASES, CHART_BEFORE);
  chart_curve(c, &a, r->phase, r->picked, N_PHASES, CHART_SECOND);
  chart_curve(c, &a, r->phase, r->played, N_PHASES, CHART_AFTER);
  char level[32];
  char louder[32];
  (void)snprintf(level, sizeof(level), "at %.0f dBFS", (double)r->dbfs);
  (void)snprintf(louder, sizeof(louder), "%.0f dB louder", (double)PICKS_DB);
  draw_key(c, &a, 0, CHART_BEFORE, "as it came");
  draw_key(c, &a, 1, CHART_AFTER, level);
  draw_key(c, &a, 2, CHART_SECOND, louder);
}

/// Names a curve where it is farthest below that of all, between two levels
static void
name_below(chart*            c,
           const chart_area* a,
           const harmonics*  r,
           const float*      pc,
           int               from_db,
           int               to_db,
           const char*       name)
{
  uint32_t best   = 0;
  float    widest = 1.4F; // Else it is as good as all of them
  for (int db = from_db; db <= to_db; ++db) {
    const uint32_t i   = (uint32_t)(db + SHARES_N - 1);
    const float    gap = r->all[i] / fmaxf(pc[i], 1e-6F);
    if (gap > widest && (double)pc[i] > 3 * a->y.lo) {
      widest = gap;
      best   = i;
    }
  }
  if (best) {
    const double x    = chart_place(&a->x, (double)r->dbfs[best]);
    const double y    = chart_place(&a->y, (double)pc[best]);
    chart_type   type = label;
    type.align        = CHART_CENTRE;
    type.is_backed    = true;
    chart_text(c, type, x, fmin(y + 14, a->box.y + a->box.h - 4), "%s", name);
  }
}

/// Names the curve of all at its right end; or all curves, in a corner that
/// they leave free
static void
name_all(chart* c, const chart_area* a, const harmonics* r)
{
  static const char* const names = "bold: all, dashes: 2nd, thin: 3rd";
  const double             right = a->box.x + a->box.w - 1;
  const double last = chart_place(&a->y, fmax((double)r->all[46], 1e-3));
  chart_type   type = label;
  type.align        = CHART_RIGHT;
  if (r->all[SHARES_N - 1] < 1.0F) {
    chart_text(c, type, right, a->box.y + 20, "%s", names);
  } else if (last < a->box.y + 28) {
    chart_text(c, type, right, a->box.y + a->box.h - 8, "%s", names);
  } else {
    chart_text(c, type, right, last - 8, "all harmonics");
  }
}

static void
draw_harmonics(chart* c, const picture_view* v)
{
  const chart_area       a   = harmonics_area(v);
  const harmonics* const r   = v->result[HARMONICS];
  const harmonics* const old = v->before[HARMONICS];
  shares_axes(c, &a);
  if (!r) {
    return;
  }
  if (old) {
    chart_curve(c, &a, old->dbfs, old->all, SHARES_N, CHART_DRAGGED);
  }
  chart_curve(c, &a, r->dbfs, r->second, SHARES_N, CHART_SECOND);
  chart_curve(c, &a, r->dbfs, r->third, SHARES_N, CHART_PART);
  chart_curve(c, &a, r->dbfs, r->all, SHARES_N, CHART_AFTER);
  name_below(c, &a, r, r->third, -41, -22, "3rd");
  name_below(c, &a, r, r->second, -17, -2, "2nd");
  name_all(c, &a, r);
  picture_handle h;
  (void)handles(v, &h);
  shares_name_handle(c, &a, &h, r->all);
}

static void
draw(chart* c, const picture_view* v)
{
  draw_wave(c, v);
  draw_harmonics(c, v);
}

static void
draw_now(chart* c, const picture_view* v)
{
  const chart_area       a = harmonics_area(v);
  const harmonics* const r = v->result[HARMONICS];
  shares_now(c, &a, v, r ? r->dbfs : NULL, r ? r->all : NULL);
}

static const picture_mark marks[] = {{.draw = draw_now, .hz = 30}};

const picture tube_stage_picture = {
  .stem      = "tube-stage",
  .figures   = figures,
  .n_figures = 2,
  .parts     = parts,
  .n_parts   = 2,
  .draw      = draw,
  .marks     = marks,
  .n_marks   = 1,
  .handles   = handles,
};
