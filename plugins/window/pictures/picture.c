// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "picture.h"

#include "picture_list.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define DECLARE_PICTURE(x)  extern const picture x##_picture;
#define POINT_TO_PICTURE(x) &x##_picture,

PICTURE_LIST(DECLARE_PICTURE)

static const picture* const pictures[] = {PICTURE_LIST(POINT_TO_PICTURE) NULL};

const picture*
picture_of(const char* stem)
{
  static const picture none = {.stem = ""};
  for (uint32_t i = 0; pictures[i]; ++i) {
    if (!strcmp(pictures[i]->stem, stem)) {
      return pictures[i];
    }
  }
  return &none;
}

double
picture_span(const chart_axis* a, const param_info* p)
{
  return chart_place(a, (double)p->max) - chart_place(a, (double)p->min);
}

float
picture_curve_at(const float* x, const float* y, uint32_t n, float at)
{
  uint32_t i = 0;
  while (i < n && x[i] < at) {
    ++i;
  }
  if (i == 0 || i == n) {
    return y[i == 0 ? 0 : n - 1];
  }
  const float share = (at - x[i - 1]) / (x[i] - x[i - 1]);
  return y[i - 1] + share * (y[i] - y[i - 1]);
}

void
picture_spread(float* values, uint32_t n, double lo, double hi, bool is_log)
{
  for (uint32_t i = 0; i < n; ++i) {
    const double u = n > 1 ? i / (double)(n - 1) : 0;
    values[i] = (float)(is_log ? lo * pow(hi / lo, u) : lo + u * (hi - lo));
  }
}

// ---------------------------------------------------------------------------
// The last seconds

#define PAST_HZ 30.0

enum {
  PAST_SIZE   = METER_PAST_S * 30,
  PAST_METERS = shell_n_meters + METERS_MAX
};

struct meter_past {
  float    value[PAST_SIZE][PAST_METERS];
  uint32_t next, n;
  double   last_s;
};

meter_past*
meter_past_new(void)
{
  meter_past* const p = calloc(1, sizeof(*p));
  if (p) {
    p->last_s = -1;
  }
  return p;
}

void
meter_past_free(meter_past* past)
{
  free(past);
}

void
meter_past_add(meter_past*  past,
               double       now_s,
               const float* values,
               uint32_t     n_meters,
               bool         is_playing)
{
  // A long silence of the host leaves a gap of its length
  const double gap = (now_s - past->last_s) * PAST_HZ;
  if (past->last_s >= 0 && gap < 0.95) {
    return;
  }
  const uint32_t steps =
    past->last_s < 0 ? 1U : (uint32_t)fmin(fmax(round(gap), 1), PAST_SIZE);
  for (uint32_t s = 0; s < steps; ++s) {
    for (uint32_t i = 0; i < n_meters && i < PAST_METERS; ++i) {
      past->value[past->next][i] =
        is_playing && (s == steps - 1 || steps < 10) ? values[i] : NAN;
    }
    past->next = (past->next + 1) % PAST_SIZE;
    past->n += past->n < PAST_SIZE;
  }
  past->last_s = now_s;
}

float
picture_meter_ago(const picture_view* v, uint32_t meter, double ago_s)
{
  const meter_past* const p    = v->past;
  const uint32_t          back = (uint32_t)(ago_s * PAST_HZ);
  if (!p || back >= p->n || meter >= PAST_METERS) {
    return NAN;
  }
  return p->value[(p->next + PAST_SIZE - 1 - back) % PAST_SIZE][meter];
}

bool
picture_meter_range(const picture_view* v,
                    uint32_t            meter,
                    double              seconds,
                    float*              lo,
                    float*              hi)
{
  bool any = false;
  for (uint32_t i = 0; i < seconds * PAST_HZ; ++i) {
    const float y = picture_meter_ago(v, meter, (i + 0.5) / PAST_HZ);
    if (isfinite(y)) {
      *lo = any ? fminf(*lo, y) : y;
      *hi = any ? fmaxf(*hi, y) : y;
      any = true;
    }
  }
  return any;
}
