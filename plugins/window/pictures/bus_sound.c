// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "bus_sound.h"

#include <stdlib.h>
#include <string.h>

enum { FRAMES = 16384, COARSE_FRAMES = 8192 };

bus_tone_params
bus_params_of(const float* values)
{
  bus_tone_params p;
  memcpy(&p, values, sizeof(p));
  return p;
}

uint32_t
bus_curves_inputs(const picture_view* v, float* inputs)
{
  bus_tone_params p = bus_params_of(v->values);
  p.width_pc        = 100;
  memcpy(inputs, &p, sizeof(p));
  return bus_tone_n_params;
}

/// The left answer to a click, alike on both sides or against each other; a
/// linear stage needs no more
static bool
respond(probe* p, float right, uint32_t n, const float* hz, float* db)
{
  float* const       x    = calloc(n, 2 * sizeof(float));
  const float* const in[] = {x, x + n};
  float* const       to[] = {x, x + n};
  bool               ok   = x != NULL;
  if (ok) {
    x[0] = 1.0F;
    x[n] = right;
    probe_reset(p);
    ok = probe_play(p, in, to, n);
  }
  for (uint32_t i = 0; ok && i < BUS_N_HZ; ++i) {
    db[i] = (float)probe_spectrum_db(x, n, (double)hz[i]);
  }
  free(x);
  return ok;
}

bool
bus_curves_compute(probe* p, const float* inputs, bool is_coarse, void* result)
{
  bus_curves* const r = result;
  const uint32_t    n = is_coarse ? COARSE_FRAMES : FRAMES;
  (void)inputs;
  picture_spread(r->hz, BUS_N_HZ, BUS_LOWEST_HZ, BUS_HIGHEST_HZ, true);
  return respond(p, 1.0F, n, r->hz, r->middle_db) &&
         respond(p, -1.0F, n, r->hz, r->sides_db);
}

double
bus_ratio(const bus_curves* r, double hz)
{
  const float middle =
    picture_curve_at(r->hz, r->middle_db, BUS_N_HZ, (float)hz);
  const float sides = picture_curve_at(r->hz, r->sides_db, BUS_N_HZ, (float)hz);
  return db_to_gain((double)(sides - middle));
}

double
bus_share(double ratio)
{
  return ratio / (1.0 + ratio);
}
