// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "shares.h"

#include <math.h>

#define LOWEST_PC 0.03
#define USUAL_PC  40.0
#define RANGE_S   10.0

enum { IN_DB = offsetof(shell_meters, in_db) / sizeof(float) };

void
shares_levels(float* dbfs)
{
  picture_spread(dbfs, SHARES_N, SHARES_LOWEST_DBFS, 0.0, false);
}

void
shares_bridge(float* pc, uint32_t i, uint32_t step)
{
  for (uint32_t k = 1; k < step && i >= step; ++k) {
    const float from = pc[i - step];
    const float u    = (float)k / (float)step;
    pc[i - step + k] = from > 0.0F ? from * powf(pc[i] / from, u) : u * pc[i];
  }
}

chart_area
shares_area(chart_box box, const float* pc)
{
  double highest = USUAL_PC;
  for (uint32_t i = 0; pc && i < SHARES_N; ++i) {
    highest = (double)pc[i] > USUAL_PC ? 100.0 : highest;
  }
  return chart_area_of(box, (chart_range){SHARES_LOWEST_DBFS, 0, false},
                       (chart_range){LOWEST_PC, highest, true});
}

void
shares_axes(chart* c, const chart_area* a)
{
  static const double shares[]    = {10, 1, 0.1};
  static const double levels[]    = {-48, -42, -36, -30, -24, -18, -12, -6, 0};
  static const char* const wide[] = {"-48", "-42", "-36", "-30",   "-24",
                                     "-18", "-12", "-6",  "0 dBFS"};
  static const char* const narrow[] = {"-48", "", "-36", "",      "-24",
                                       "",    "", "",    "0 dBFS"};
  chart_axis_y(c, a, shares, 3, "%");
  chart_axis_x(c, a, levels, a->box.w > 300 ? wide : narrow, 9);
}

double
shares_at_one(const float* dbfs, const float* pc)
{
  if (pc[0] >= 1.0F) {
    return SHARES_LOWEST_DBFS;
  }
  for (uint32_t i = 1; i < SHARES_N; ++i) {
    if (pc[i] >= 1.0F) {
      const double from = log(fmax((double)pc[i - 1], 1e-6));
      const double to   = log((double)pc[i]);
      const double u    = to > from ? -from / (to - from) : 1.0;
      return (double)dbfs[i - 1] + u * (double)(dbfs[i] - dbfs[i - 1]);
    }
  }
  return 0.0;
}

picture_handle
shares_handle(const chart_area* a,
              const float*      dbfs,
              const float*      pc,
              int               row,
              const param_info* info)
{
  const double at = pc ? shares_at_one(dbfs, pc) : SHARES_LOWEST_DBFS / 2;
  const double share =
    pc ? (double)picture_curve_at(dbfs, pc, SHARES_N, (float)at) : 1.0;
  return (picture_handle){
    .x         = chart_place(&a->x, at),
    .y         = chart_place(&a->y, clampd(share, a->y.lo, a->y.hi)),
    .across    = row,
    .upright   = -1,
    .width     = -1,
    .across_px = -picture_span(&a->x, info),
  };
}

void
shares_name_handle(chart*                c,
                   const chart_area*     a,
                   const picture_handle* h,
                   const float*          pc)
{
  const double at       = chart_value(&a->x, h->x);
  const bool   is_right = h->x < a->box.x + 72;
  const bool   is_first = pc[0] >= 1.0F;
  const bool   is_never = at > -0.01 && pc[SHARES_N - 1] < 1.0F;
  chart_type   type     = {.size      = 10,
                           .colour    = CHART_INK,
                           .align     = is_right ? CHART_LEFT : CHART_RIGHT,
                           .is_backed = true};
  const double x        = h->x + (is_right ? 10 : -10);
  const double y        = h->y + (is_right ? 16 : -7);
  if (is_never) {
    chart_text(c, type, x, y, "below 1 %%");
  } else if (is_first) {
    chart_text(c, type, x, y, "%.0f %% at -48", (double)pc[0]);
  } else {
    chart_text(c, type, x, y, "1 %% at %.0f", at - 1e-9);
  }
}

static void
draw_point(chart*              c,
           const chart_area*   a,
           const picture_view* v,
           double              at,
           double              share)
{
  const double x       = chart_place(&a->x, at);
  const bool   is_left = x > a->box.x + 0.5 * a->box.w;
  const double text_x  = x + (is_left ? -3 : 4);
  chart_type   type    = {.size      = 10,
                          .colour    = CHART_INK,
                          .align     = is_left ? CHART_RIGHT : CHART_LEFT,
                          .is_backed = true};
  if (v->is_off) { // Nothing is added
    chart_text(c, type, text_x, a->box.y - 3, "now %.1f", at);
    return;
  }
  const int digits = share >= 9.95 || share < 0.005 ? 0 : share < 0.05 ? 2 : 1;
  chart_text(c, type, text_x, a->box.y - 3, "now %.1f: %.*f %%", at, digits,
             share);
  if (share >= a->y.lo && share <= a->y.hi) {
    chart_dot(c, x, chart_place(&a->y, share), CHART_INK);
  }
}

void
shares_now(chart*              c,
           const chart_area*   a,
           const picture_view* v,
           const float*        dbfs,
           const float*        pc)
{
  float lo = 0;
  float hi = 0;
  if (picture_meter_range(v, IN_DB, RANGE_S, &lo, &hi)) {
    chart_range_x(c, a, (double)lo, (double)hi);
  }
  const double at = (double)v->levels.in_db;
  if (!v->is_playing || !pc || at < SHARES_LOWEST_DBFS || at > 0.0) {
    return;
  }
  chart_now_x(c, a, at);
  draw_point(c, a, v, at,
             (double)picture_curve_at(dbfs, pc, SHARES_N, (float)at));
}
