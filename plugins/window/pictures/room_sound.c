// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "room_sound.h"

#include "bands.h"

#include "common/core/air.h"

#include <stdlib.h>
#include <string.h>

enum {
  FRAMES_PER_MS = 48,
  PULSE_MS      = 4,
  SMOOTH_MS     = 6, ///< On both sides
};

#define PITCH_HZ 1000.0

room_send_params
room_params_of(const float* values)
{
  room_send_params p;
  memcpy(&p, values, sizeof(p));
  return p;
}

double
room_shown_ms(const float* values)
{
  return room_params_of(values).predelay_ms > 30.0F ? 200.0 : 90.0;
}

static decay_law
law_of(const room_send_params* p)
{
  return room_stretch(room_decay((room_kind)p->room),
                      room_scale((double)p->volume_m3) * 0.01 *
                        (double)p->decay_pc);
}

// ---------------------------------------------------------------------------
// Ringing times

/// The reverberation alone, as long as it takes
uint32_t
room_rings_inputs(const picture_view* v, float* inputs)
{
  room_send_params p = room_params_of(v->values);
  p.distance_m       = 1.0F;
  p.spacing_m        = 2.0F;
  p.early_db         = -24.0F;
  p.late_db          = 0.0F;
  p.predelay_ms      = 0.0F;
  p.low_cut_hz       = 20.0F;
  p.high_cut_hz      = 16000.0F;
  p.wet_db           = 0.0F;
  p.dry              = 0.0F;
  memcpy(inputs, &p, sizeof(p));
  return room_send_n_params;
}

bool
room_rings_compute(probe* p, const float* inputs, bool is_coarse, void* result)
{
  static const double    hz[ROOM_N_RINGS] = {250, 1000, 4000};
  const room_send_params set              = room_params_of(inputs);
  const decay_law        law              = law_of(&set);
  room_rings* const      r                = result;
  const double           all = fmax(law.low_s, fmax(law.mid_s, law.high_s));
  const uint32_t         n =
    (uint32_t)(PROBE_RATE_HZ * ((is_coarse ? 0.6 : 1.0) * all + 0.05));
  float* const     x  = malloc(n * sizeof(float));
  band_fall* const f  = calloc(1, sizeof(*f));
  const bool       ok = x && f && probe_click(p, 1.0F, x, n);
  for (uint32_t i = 0; ok && i < ROOM_N_RINGS; ++i) {
    band_measure(x, n, hz[i], f);
    r->decay_s[i] = f->decay_s;
  }
  free(f);
  free(x);
  return ok;
}

// ---------------------------------------------------------------------------
// Arrivals

/// The cuts are shown by nothing here: near 1 kHz they take little
uint32_t
room_arrivals_inputs(const picture_view* v, float* inputs)
{
  room_send_params p = room_params_of(v->values);
  p.low_cut_hz       = 20.0F;
  p.high_cut_hz      = 16000.0F;
  p.dry              = 0.0F;
  memcpy(inputs, &p, sizeof(p));
  inputs[room_send_n_params] = (float)room_shown_ms(v->settled);
  return room_send_n_params + 1;
}

static void
swap_images(room_arrivals* r, uint32_t i, uint32_t k)
{
  float* const of[] = {r->image_ms, r->image_db, r->image_order};
  for (int n = 0; n < 3; ++n) {
    const float was = of[n][i];
    of[n][i]        = of[n][k];
    of[n][k]        = was;
  }
}

/// Takes the taps that the stage itself plays, and what their walls cost
static void
take_taps(const room_early* e,
          double            wall_db,
          double            level_db,
          room_arrivals*    r)
{
  const room_bank* const b = &e->bank[e->active];
  for (uint32_t g = 0; g < ROOM_ORDERS; ++g) {
    for (uint32_t i = b->first[0][0][g]; i < b->first[0][0][g + 1]; ++i) {
      const room_tap* const tap  = &b->tap[0][0][i];
      const uint32_t        k    = r->n_images++;
      const double          gain = gain_to_db(fmax((double)tap->gain, 1e-6));
      r->image_ms[k]             = (float)tap->delay / FRAMES_PER_MS;
      r->image_order[k]          = (float)(g + 1);
      r->image_db[k]             = (float)(gain + (g + 1) * wall_db + level_db);
      if (r->image_ms[k] < r->image_ms[0]) {
        swap_images(r, 0, k);
      }
    }
  }
}

static bool
find_images(const room_send_params* p, room_arrivals* r)
{
  const decay_law   law = law_of(p);
  room_early* const e   = calloc(1, sizeof(*e));
  if (!e) {
    return false;
  }
  room_early_init(e, PROBE_RATE_HZ);
  room_early_set(e, (room_place){(double)p->volume_m3, (double)p->distance_m,
                                 (double)p->spacing_m,
                                 1e-3 * (double)p->predelay_ms});
  room_early_reset(e, &law);
  const double wall_nepers = DECAY_NEPERS *
                             room_mean_path_s((double)p->volume_m3) /
                             decay_law_s(&law, PITCH_HZ);
  const double off_db = p->wet_db > -60.0F ? 0.0 : -200.0;
  take_taps(e, gain_to_db(exp(-wall_nepers)),
            (double)(p->early_db + p->wet_db) + off_db, r);
  free(e);
  return true;
}

/// Plays a short pulse of 1 kHz into the left input; its own energy becomes 1
static bool
play_pulse(probe*       p,
           float*       in,
           const float* silence,
           float*       out,
           float*       other,
           uint32_t     n)
{
  double energy = 0.0;
  for (uint32_t i = 0; i < PULSE_MS * FRAMES_PER_MS; ++i) {
    const double u = i / (double)(PULSE_MS * FRAMES_PER_MS);
    const double y = (0.5 - 0.5 * cos(2 * DSP_PI * u)) *
                     sin(2 * DSP_PI * PITCH_HZ * i / PROBE_RATE_HZ);
    in[i] = (float)y;
    energy += y * y;
  }
  for (uint32_t i = 0; i < PULSE_MS * FRAMES_PER_MS; ++i) {
    in[i] *= (float)(1.0 / sqrt(energy));
  }
  const float* const from[] = {in, silence};
  float* const       to[]   = {out, other};
  return probe_play(p, from, to, n);
}

/// Mean energy of a millisecond round frame `at`, under a Hann window
static double
energy_at(const float* x, int at)
{
  const int reach  = SMOOTH_MS * FRAMES_PER_MS;
  double    sum    = 0.0;
  double    weight = 0.0;
  for (int k = at > reach ? -reach : -at; k < reach; ++k) {
    const double w = 0.5 + 0.5 * cos(DSP_PI * k / reach);
    sum += w * (double)x[at + k] * (double)x[at + k];
    weight += w;
  }
  return sum / weight * FRAMES_PER_MS;
}

static void
find_late(const float* x, room_arrivals* r)
{
  for (uint32_t i = 0; i < r->n_ms; ++i) {
    // The pulse sounds in its middle
    const int at  = (int)(i + PULSE_MS / 2) * FRAMES_PER_MS;
    r->ms[i]      = (float)i;
    r->late_db[i] = (float)(10.0 * log10(fmax(energy_at(x, at), 1e-12)));
    if (r->ms[i] < r->mixing_ms) {
      r->late_db[i] = NAN;
      r->n_mixed    = i + 1;
    } else {
      r->top_db = fmaxf(r->top_db, r->late_db[i]);
    }
  }
  for (uint32_t i = 0; i < r->n_images; ++i) {
    r->top_db = fmaxf(r->top_db, r->image_db[i]);
  }
}

bool
room_arrivals_compute(probe*       p,
                      const float* inputs,
                      bool         is_coarse,
                      void*        result)
{
  room_arrivals* const   r   = result;
  const room_send_params set = room_params_of(inputs);
  const room_layout      l   = room_layout_of(
           (double)set.volume_m3, (double)set.distance_m, (double)set.spacing_m);
  (void)is_coarse;
  r->top_db    = -200.0F;
  r->n_ms      = (uint32_t)inputs[room_send_n_params];
  r->mixing_ms = (float)(1e3 * (room_mixing_s((double)set.volume_m3) -
                                l.distance_m / SPEED_OF_SOUND_M_S)) +
                 set.predelay_ms;
  const uint32_t n = (ROOM_MOST_MS + PULSE_MS + SMOOTH_MS) * FRAMES_PER_MS;
  float* const   x = calloc((size_t)n * 4, sizeof(float));
  const bool     ok =
    x && find_images(&set, r) &&
    play_pulse(p, x, x + n, x + 2 * (size_t)n, x + 3 * (size_t)n, n);
  if (ok) {
    find_late(x + 2 * (size_t)n, r);
  }
  free(x);
  return ok;
}
