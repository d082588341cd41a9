// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "take_hum.h"

#include "common/core/dsp.h"
#include "presets-demo/render/program/alloc.h"

#include <math.h>
#include <stdlib.h>

#define HOP_S       0.1
#define WINDOW_HOPS 2
#define MAINS       2
#define N_TONES     (MAINS * TAKE_HUM_HARMONICS)
/// Lower limit of the rate after decimation: twice and a half the last harmonic
#define LOW_RATE_HZ 2400.0

// Bins of 1 dB.  Below them is digital silence: 24 bits have -144 dBFS.
#define LOW_DB (-140.0)
#define N_BINS 200U

#define MIN_WINDOWS 5U // 1 s
/// Pauses: this share of the windows, the quietest, and those 3 dB above them
#define PAUSE_SHARE   0.02
#define PAUSE_SPAN_DB 3.0
#define STEADY_DB     3.0
/// Of the cross products: 1 for a tone that goes on, 0 for noise
#define MIN_COHERENCE 0.8
/// Half the change of power in a window, re the power: 0.6 dB, as a note with a
/// T60 of 20 s; the lowest strings have 8 to 14 s
#define MAX_CHANGE 0.07
/// Of the power in the band of the harmonics
#define MIN_SHARE 0.25

/// Of the European grid in normal operation; others keep closer
#define MAINS_TOLERANCE_HZ 0.2

static const double mains_hz[MAINS] = {50.0, 60.0};

typedef struct {
  double re, im;
} phasor;

/// Sums over the windows of a level
typedef struct {
  uint32_t n;
  uint64_t first;        ///< Frame at which the first begins
  double   low_power;    ///< In the band of the harmonics
  double   all[N_TONES]; ///< Mean squares of the tones
  phasor   cross[N_TONES];
  double   cross_abs[N_TONES];
  double   change[N_TONES]; ///< Of the power, from window to window
} hum_bin;

struct take_hum {
  double   rate_hz;
  uint32_t factor;   ///< Of the decimation
  uint32_t n_window; ///< Decimated samples in a window
  phasor*  tones;    ///< N_TONES rows of n_window
  float*   x;        ///< The present window
  uint32_t n_x, n_part;
  double   part, sum, squares;
  uint64_t n_windows;
  phasor   before[N_TONES]; ///< Of the window before
  double   before_db;
  hum_bin  bins[N_BINS];
};

static double
tone_hz(uint32_t tone)
{
  const uint32_t harmonic = tone % TAKE_HUM_HARMONICS + 1;
  return mains_hz[tone / TAKE_HUM_HARMONICS] * harmonic;
}

/// Returns the largest divisor of `n` that is not above `limit`
static uint32_t
divisor(uint32_t n, double limit)
{
  uint32_t d = (uint32_t)fmax(limit, 1.0);
  while (n % d) {
    --d;
  }
  return d;
}

/// Fills a row so that its product with the window is the amplitude / sqrt(2);
/// the decimation's droop is made good
static void
fill_tone(take_hum* h, uint32_t tone)
{
  const double  step  = DSP_PI * tone_hz(tone) / h->rate_hz;
  const double  droop = sin(h->factor * step) / (h->factor * sin(step));
  const double  scale = sqrt(2.0) / (h->n_window * droop);
  phasor* const row   = h->tones + (size_t)tone * h->n_window;
  for (uint32_t i = 0; i < h->n_window; ++i) {
    const double angle = 2.0 * step * h->factor * i;
    const double re    = scale * cos(angle);
    const double im    = -scale * sin(angle);
    row[i]             = (phasor){re, im};
  }
}

take_hum*
take_hum_new(double rate_hz)
{
  take_hum* const h   = alloc_new(1, sizeof(*h));
  const uint32_t  hop = (uint32_t)lrint(HOP_S * rate_hz);
  h->rate_hz          = rate_hz;
  h->factor           = divisor(hop, rate_hz / LOW_RATE_HZ);
  h->n_window         = WINDOW_HOPS * (hop / h->factor);
  h->tones = alloc_new((size_t)N_TONES * h->n_window, sizeof(phasor));
  h->x     = alloc_new(h->n_window, sizeof(float));
  for (uint32_t i = 0; i < N_TONES; ++i) {
    fill_tone(h, i);
  }
  return h;
}

void
take_hum_free(take_hum* h)
{
  if (h) {
    free(h->tones);
    free(h->x);
    free(h);
  }
}

static hum_bin*
bin_of(take_hum* h, double db)
{
  return &h->bins[(uint32_t)fmin(db - LOW_DB, N_BINS - 1.0)];
}

static phasor
transform(const take_hum* h, uint32_t tone)
{
  const phasor* const row = h->tones + (size_t)tone * h->n_window;
  phasor              sum = {0.0, 0.0};
  for (uint32_t i = 0; i < h->n_window; ++i) {
    sum.re += row[i].re * (double)h->x[i];
    sum.im += row[i].im * (double)h->x[i];
  }
  return sum;
}

/// Adds this window to the bin of its level, and its change of phases to that
/// of the louder one of the two
static void
add_tones(take_hum* h, double db)
{
  hum_bin* const one     = bin_of(h, db);
  const bool     has_two = h->n_windows && h->before_db > LOW_DB;
  hum_bin* const both    = bin_of(h, has_two ? fmax(db, h->before_db) : db);
  for (uint32_t t = 0; t < N_TONES; ++t) {
    const phasor now   = transform(h, t);
    const phasor old   = h->before[t];
    const double power = now.re * now.re + now.im * now.im;
    one->all[t] += power;
    if (has_two) {
      both->cross[t].re += now.re * old.re + now.im * old.im;
      both->cross[t].im += now.im * old.re - now.re * old.im;
      const double power_before = old.re * old.re + old.im * old.im;
      both->cross_abs[t] += sqrt(power * power_before);
      both->change[t] += (power - power_before) / 2.0;
    }
    h->before[t] = now;
  }
}

static void
end_window(take_hum* h)
{
  const double n     = (double)h->n_window * h->factor;
  const double mean  = h->sum / n;
  const double power = h->squares / n - mean * mean;
  const double db    = power > 0.0 ? 10.0 * log10(power) : LOW_DB;
  if (db > LOW_DB) {
    hum_bin* const b   = bin_of(h, db);
    double         low = 0.0;
    for (uint32_t i = 0; i < h->n_window; ++i) {
      h->x[i] -= (float)mean;
      low += (double)h->x[i] * (double)h->x[i];
    }
    add_tones(h, db);
    b->low_power += low / h->n_window;
    b->first = b->n ? b->first : h->n_windows * (uint64_t)lrint(n);
    ++b->n;
  }
  h->before_db = db;
  ++h->n_windows;
  h->n_x     = 0;
  h->sum     = 0.0;
  h->squares = 0.0;
}

void
take_hum_add(take_hum* h, const float* x, uint32_t n)
{
  for (uint32_t i = 0; i < n;) {
    const uint32_t left = h->factor - h->n_part;
    const uint32_t now  = n - i < left ? n - i : left;
    for (uint32_t k = 0; k < now; ++k) {
      h->part += (double)x[i + k];
      h->squares += (double)x[i + k] * (double)x[i + k];
    }
    i += now;
    h->n_part += now;
    if (h->n_part == h->factor) {
      h->x[h->n_x++] = (float)(h->part / h->factor);
      h->sum += h->part;
      h->part   = 0.0;
      h->n_part = 0;
      if (h->n_x == h->n_window) {
        end_window(h);
      }
    }
  }
}

static uint32_t
count_windows(const take_hum* h)
{
  uint32_t n = 0;
  for (uint32_t i = 0; i < N_BINS; ++i) {
    n += h->bins[i].n;
  }
  return n;
}

/// Returns the level that `n` windows do not exceed
static double
level_of_quietest(const take_hum* h, double n)
{
  uint32_t sum = 0;
  uint32_t i   = 0;
  while (i + 1 < N_BINS && (sum += h->bins[i].n) < n) {
    ++i;
  }
  return LOW_DB + i;
}

bool
take_hum_is_steady(const take_hum* h)
{
  const uint32_t n = count_windows(h);
  return n >= MIN_WINDOWS &&
         level_of_quietest(h, 0.95 * n) - level_of_quietest(h, 0.05 * n) <
           STEADY_DB;
}

static hum_bin
sum_below(const take_hum* h, double below_db)
{
  hum_bin sum = {.n = 0};
  for (uint32_t i = 0; i < N_BINS && LOW_DB + i + 1.0 <= below_db; ++i) {
    const hum_bin* const b = &h->bins[i];
    if (b->n && (!sum.n || b->first < sum.first)) {
      sum.first = b->first;
    }
    sum.n += b->n;
    sum.low_power += b->low_power;
    for (uint32_t t = 0; t < N_TONES; ++t) {
      sum.all[t] += b->all[t];
      sum.cross[t].re += b->cross[t].re;
      sum.cross[t].im += b->cross[t].im;
      sum.cross_abs[t] += b->cross_abs[t];
      sum.change[t] += b->change[t];
    }
  }
  return sum;
}

/// Returns whether a tone goes on through the pauses at its frequency and level
static bool
is_mains(const take_hum* h, const hum_bin* pauses, uint32_t tone)
{
  const double s         = h->n_window * (h->factor / h->rate_hz);
  const phasor c         = pauses->cross[tone];
  const double all       = pauses->cross_abs[tone];
  const double turned    = atan2(c.im, c.re) / (2.0 * DSP_PI);
  const double off       = turned - tone_hz(tone) * s;
  const double off_hz    = (off - nearbyint(off)) / s;
  const double tolerance = MAINS_TOLERANCE_HZ * (tone % TAKE_HUM_HARMONICS + 1);
  return all > 0.0 && hypot(c.re, c.im) >= MIN_COHERENCE * all &&
         fabs(pauses->change[tone]) <= MAX_CHANGE * all &&
         fabs(off_hz) <= tolerance;
}

/// Returns the power of the hum of a mains frequency; 0 if it is none
static double
hum_power(const take_hum* h, const hum_bin* pauses, uint32_t mains)
{
  double   power     = 0.0;
  uint32_t n         = 0;
  bool     has_first = false;
  for (uint32_t k = 0; k < TAKE_HUM_HARMONICS; ++k) {
    const uint32_t tone = mains * TAKE_HUM_HARMONICS + k;
    if (is_mains(h, pauses, tone)) {
      power += pauses->all[tone];
      has_first = has_first || !k;
      ++n;
    }
  }
  const bool is_enough = power >= MIN_SHARE * pauses->low_power;
  return (has_first || n > 1) && is_enough ? power / pauses->n : 0.0;
}

hum_found
take_hum_find(const take_hum* h, double below_db)
{
  const uint32_t n      = count_windows(h);
  const double   quiet  = fmax(MIN_WINDOWS, PAUSE_SHARE * n);
  const double   top_db = level_of_quietest(h, quiet) + 1.0 + PAUSE_SPAN_DB;
  const hum_bin  pauses = sum_below(h, fmin(top_db, below_db));
  hum_found      found  = {.mains_hz = 0.0};
  double         most   = 0.0;
  for (uint32_t i = 0; i < MAINS && pauses.n >= MIN_WINDOWS; ++i) {
    const double power = hum_power(h, &pauses, i);
    if (power > most) {
      most  = power;
      found = (hum_found){.mains_hz = mains_hz[i],
                          .level_db = 10.0 * log10(power),
                          .first_s  = (double)pauses.first / h->rate_hz};
    }
  }
  return found;
}
