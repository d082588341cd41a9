// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "plate_sound.h"

#include "bands.h"

#include <stdlib.h>
#include <string.h>

enum { COARSE_STEP = 2 }; ///< Each second band while a hand moves

#define LONGEST_S 9.5 ///< That is played; it falls straight on

static const float lines_db[PLATE_LINES] = {-20, -40, -60};

plate_send_params
plate_params_of(const float* values)
{
  plate_send_params p;
  memcpy(&p, values, sizeof(p));
  return p;
}

double
plate_time_s(const plate_send_params* p, uint32_t handle)
{
  const float share[] = {0.01F * p->low_decay_pc, 1.0F,
                         0.01F * p->high_decay_pc};
  return (double)(share[handle] * p->decay_s);
}

double
plate_longest_s(const plate_send_params* p)
{
  return fmax(fmax(plate_time_s(p, 0), plate_time_s(p, 1)), plate_time_s(p, 2));
}

// ---------------------------------------------------------------------------
// Probes

/// The plate alone
uint32_t
plate_decays_inputs(const picture_view* v, float* inputs)
{
  plate_send_params p = plate_params_of(v->values);
  p.predelay_ms       = 0.0F;
  p.low_cut_hz        = 20.0F;
  p.high_cut_hz       = 10000.0F;
  p.treble_db         = 0.0F;
  p.width_pc          = 100.0F;
  p.wet_db            = 0.0F;
  p.dry               = 0.0F;
  memcpy(inputs, &p, sizeof(p));
  return plate_send_n_params;
}

/// All but the level and the width, which make it neither longer nor shorter
uint32_t
plate_tail_inputs(const picture_view* v, float* inputs)
{
  plate_send_params p = plate_params_of(v->values);
  p.width_pc          = 100.0F;
  p.wet_db            = 0.0F;
  p.dry               = 0.0F;
  memcpy(inputs, &p, sizeof(p));
  return plate_send_n_params;
}

typedef struct {
  uint32_t  step; ///< 1: all bands
  band_fall band[PLATE_BANDS];
} falls;

static void
spread_bands(float* hz)
{
  for (uint32_t i = 0; i < PLATE_BANDS; ++i) { // The exact centres, base 10
    hz[i] = (float)(1000.0 * pow(10.0, 0.1 * ((double)i - 12.0)));
  }
}

/// Plays a click until it has fallen far enough, and measures the bands
static bool
measure_falls(probe* p, const float* inputs, bool is_coarse, falls* f)
{
  plate_send_params set  = plate_params_of(inputs);
  const double      all  = plate_longest_s(&set);
  const double      part = is_coarse ? 0.6 * all : fmin(1.25 * all, LONGEST_S);
  const uint32_t    n =
    (uint32_t)(PROBE_RATE_HZ *
               (fmin(part, LONGEST_S) + 1e-3 * (double)set.predelay_ms));
  float hz[PLATE_BANDS];
  spread_bands(hz);
  if (is_coarse) {
    set.quality = (float)PLATE_LIGHT;
    probe_set(p, (const float*)&set);
  }
  float* const       x      = malloc(n * sizeof(float));
  const float* const from[] = {x, x};
  float* const       to[]   = {x, x};
  bool               ok     = x && probe_click(p, 1.0F, x, n);
  f->step                   = is_coarse ? COARSE_STEP : 1;
  for (uint32_t i = 0; ok && i < PLATE_BANDS; i += f->step) {
    band_measure(x, n, (double)hz[i], &f->band[i]);
    ok = probe_play(p, from, to, 0); // Nothing, but it may have to stop
  }
  free(x);
  return ok;
}

/// Fills in the bands that were left out
static void
fill_between(float* y, uint32_t step)
{
  for (uint32_t i = 1; step > 1 && i + 1 < PLATE_BANDS; i += step) {
    y[i] = 0.5F * (y[i - 1] + y[i + 1]);
  }
}

_Static_assert((PLATE_BANDS - 1) % COARSE_STEP == 0,
               "The last band is measured");

bool
plate_decays_compute(probe*       p,
                     const float* inputs,
                     bool         is_coarse,
                     void*        result)
{
  plate_decays* const r  = result;
  falls* const        f  = calloc(1, sizeof(*f));
  const bool          ok = f && measure_falls(p, inputs, is_coarse, f);
  spread_bands(r->hz);
  for (uint32_t i = 0; ok && i < PLATE_BANDS; i += f->step) {
    r->decay_s[i] = f->band[i].decay_s;
  }
  if (ok) {
    fill_between(r->decay_s, f->step);
  }
  free(f);
  return ok;
}

/// Against the pitch that begins loudest
bool
plate_tail_compute(probe* p, const float* inputs, bool is_coarse, void* result)
{
  plate_tail* const r       = result;
  const float       first_s = 1e-3F * plate_params_of(inputs).predelay_ms;
  falls*            f       = calloc(1, sizeof(*f));
  const bool        ok      = f && measure_falls(p, inputs, is_coarse, f);
  float             top_db  = -INFINITY;
  spread_bands(r->khz);
  for (uint32_t i = 0; i < PLATE_BANDS; ++i) {
    r->khz[i] *= 1e-3F;
  }
  for (uint32_t i = 0; ok && i < PLATE_BANDS; i += f->step) {
    top_db = fmaxf(top_db, f->band[i].db[0]);
  }
  for (uint32_t k = 0; ok && k < PLATE_LINES; ++k) {
    for (uint32_t i = 0; i < PLATE_BANDS; i += f->step) {
      r->t_s[k][i] =
        fmaxf(band_time_of(&f->band[i], top_db + lines_db[k]), first_s);
    }
    fill_between(r->t_s[k], f->step);
  }
  free(f);
  return ok;
}
