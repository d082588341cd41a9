// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "reductions.h"

#include <assert.h>
#include <math.h>

static const chart_type right = {.size   = 10,
                                 .colour = CHART_INK,
                                 .align  = CHART_RIGHT};

void
reductions_axis(chart* c, const chart_area* a)
{
  double at[5];
  for (int i = 0; i < 5; ++i) {
    at[i] = i ? a->y.lo * i / 4.0 : 0.0; // No -0
  }
  chart_axis_y(c, a, at, 5, "dB");
}

/// No -0.0
static double
rounded(double db)
{
  return db < -0.05 ? db : 0.0;
}

static void
draw_sums(chart* c, const chart_area* a, const float* gain_db, uint32_t n)
{
  double       sum   = 0.0;
  float        most  = 0.0F;
  uint32_t     count = 0;
  const double x     = a->box.x + a->box.w - 2;
  const double foot  = a->box.y + a->box.h - 8;
  for (uint32_t i = 0; i < n; ++i) {
    if (isfinite(gain_db[i])) {
      sum += (double)gain_db[i];
      most = fminf(most, gain_db[i]);
      ++count;
    }
  }
  if (count) {
    chart_text(c, right, x, foot, "most %.1f   mean %.1f dB",
               rounded((double)most), rounded(sum / count));
  } else {
    chart_text(c, right, x, foot, "\xE2\x80\x93"); // No signal yet
  }
}

void
reductions_history(chart*              c,
                   const chart_area*   a,
                   const picture_view* v,
                   uint32_t            meter,
                   uint32_t            hz,
                   uint32_t            seconds)
{
  const uint32_t n = hz * seconds;
  float          t_s[REDUCTIONS_MAX];
  float          gain_db[REDUCTIONS_MAX];
  assert(n && n <= REDUCTIONS_MAX);
  for (uint32_t i = 0; i < n; ++i) {
    const double ago_s = (n - 1 - i) / (double)hz;
    t_s[i]             = (float)-ago_s;
    gain_db[i]         = -picture_meter_ago(v, meter, ago_s);
  }
  // Tinted where known, which is from some moment on
  uint32_t first = 0;
  while (first < n && !isfinite(gain_db[first])) {
    ++first;
  }
  bool is_whole = first < n;
  for (uint32_t i = first; i < n; ++i) {
    is_whole = is_whole && isfinite(gain_db[i]);
  }
  if (is_whole && !v->is_off) {
    chart_fill(c, a, t_s + first, gain_db + first, NULL, 0.0, n - first);
    reductions_axis(c, a);
  }
  chart_curve(c, a, t_s, gain_db, n, CHART_PART);
  draw_sums(c, a, gain_db, n);
}
