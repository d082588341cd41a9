// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "echo_sound.h"

#include "noise.h"

#include <stdlib.h>
#include <string.h>

#define CLICK   1e-3F // Far below where the tape saturates
#define SOFT    1e-4
#define REPEATS 50.0F

enum {
  LEAD          = 256, // An arrival begins before its time: the reading is even
  APART         = 12000,
  COARSE_APART  = 4800,
  NOISE_TIME_MS = 10,
};

thickening_echo_params
echo_params_of(const float* values)
{
  thickening_echo_params p;
  memcpy(&p, values, sizeof(p));
  return p;
}

/// The echo alone, once, on a steady tape
static thickening_echo_params
tone_of(thickening_echo_params p)
{
  p.time_ms    = NOISE_TIME_MS;
  p.repeats_pc = 0;
  p.flutter_pc = 0;
  p.wet_db     = 0;
  p.dry        = 1;
  return p;
}

uint32_t
echo_tone_inputs(const picture_view* v, float* inputs)
{
  const thickening_echo_params p = tone_of(echo_params_of(v->values));
  memcpy(inputs, &p, sizeof(p));
  return thickening_echo_n_params;
}

/// A click's echo and the first repeat, so far apart that both can be cut out
static bool
hear_click(probe* p, thickening_echo_params set, uint32_t apart, echo_tone* t)
{
  const uint32_t n = 3 * apart;
  set.time_ms      = (float)(1e3 * apart / PROBE_RATE_HZ);
  set.repeats_pc   = REPEATS;
  probe_set(p, (const float*)&set);
  float* const x  = malloc(n * sizeof(float));
  const bool   ok = x && probe_click(p, CLICK, x, n);
  for (uint32_t i = 0; ok && i < ECHO_N_HZ; ++i) {
    const double hz   = (double)t->hz[i];
    const double echo = probe_spectrum_db(x + apart - LEAD, apart, hz);
    const double repeat =
      probe_spectrum_db(x + (size_t)2 * apart - LEAD, apart, hz);
    t->echo_db[i] = (float)(echo - gain_to_db((double)CLICK));
    t->round_db[i] =
      (float)(repeat - echo - gain_to_db(0.01 * (double)REPEATS));
  }
  free(x);
  return ok;
}

static bool
hear_noise(const noise* s, probe* p, double rms, double* mean_db)
{
  float gain_db[NOISE_MAX_LINES];
  float y[NOISE_FRAMES];
  if (!noise_play(s, p, rms, 1, y)) {
    return false;
  }
  (void)noise_read(s, rms, y, gain_db);
  *mean_db = 0;
  for (uint32_t i = 0; i < s->n_lines; ++i) {
    *mean_db += (double)gain_db[i] / s->n_lines;
  }
  return true;
}

/// What saturation takes from playing, at all pitches alike: a tape that
/// saturates before it loses treble has one gain for noise (J. J. Bussgang,
/// 1952)
static bool
hear_playing(probe* p, const thickening_echo_params* set, double* loss_db)
{
  noise* const s       = malloc(sizeof(*s));
  double       soft_db = 0;
  double       loud_db = 0;
  bool         ok      = s != NULL;
  if (ok) {
    probe_set(p, (const float*)set);
    noise_make(s, ECHO_LOWEST_HZ, ECHO_HIGHEST_HZ, 8);
    ok = hear_noise(s, p, SOFT, &soft_db) &&
         hear_noise(s, p, db_to_gain(ECHO_PLAYING_DBFS), &loud_db);
  }
  free(s);
  *loss_db = loud_db - soft_db;
  return ok;
}

bool
echo_tone_compute(probe* p, const float* inputs, bool is_coarse, void* result)
{
  echo_tone* const             t       = result;
  const thickening_echo_params set     = tone_of(echo_params_of(inputs));
  double                       loss_db = 0;
  picture_spread(t->hz, ECHO_N_HZ, ECHO_LOWEST_HZ, ECHO_HIGHEST_HZ, true);
  if (!hear_click(p, set, is_coarse ? COARSE_APART : APART, t) ||
      !hear_playing(p, &set, &loss_db)) {
    return false;
  }
  for (uint32_t i = 0; i < ECHO_N_HZ; ++i) {
    t->echo_db[i] += (float)loss_db;
    t->round_db[i] += (float)loss_db;
  }
  return true;
}

// ---------------------------------------------------------------------------
// Arrivals

void
echo_arrival(const echo_tone*              t,
             const thickening_echo_params* p,
             uint32_t                      arrival,
             float*                        db)
{
  const double share  = fmax(0.01 * (double)p->repeats_pc, 1e-12);
  const double rounds = arrival - 1.0;
  const double wet_db =
    (double)p->wet_db > ECHO_OFF_DB ? (double)p->wet_db : -300.0;
  for (uint32_t i = 0; i < ECHO_N_HZ; ++i) {
    const double round_db = (double)t->round_db[i] + gain_to_db(share);
    db[i] = (float)(wet_db + (double)t->echo_db[i] + rounds * round_db);
  }
}

double
echo_arrival_db(const echo_tone*              t,
                const thickening_echo_params* p,
                uint32_t                      arrival)
{
  float  db[ECHO_N_HZ];
  double power = 0;
  echo_arrival(t, p, arrival, db);
  for (uint32_t i = 0; i < ECHO_N_HZ; ++i) {
    power += db_to_gain(2.0 * (double)db[i]) / ECHO_N_HZ;
  }
  return 0.5 * gain_to_db(power);
}
