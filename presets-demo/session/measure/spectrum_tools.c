// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "spectrum_tools.h"

#include "common/core/dsp.h"
#include "common/core/fastmath.h"
#include "power_fft.h"
#include "presets-demo/render/program/alloc.h"

#include <math.h>
#include <pthread.h>
#include <stdlib.h>

#define WINDOW_S    0.16
#define CACHE_LINE  64
#define LOWEST_BAND (-28) // x of IEC 61260-1: 41 Hz

/// Bins of a band: all of those between, and a share of the first and the last
typedef struct {
  uint32_t first, last;
  float    first_share, last_share;
} band_bins;

/// Memory to transform in
typedef struct workplace {
  struct workplace* next;
  signal_row*       rows;
} workplace;

struct spectrum_tools {
  double          rate_hz;
  uint32_t        size;
  float*          hann;
  power_fft*      fft;
  band_bins       bands[SPECTRUM_N_BANDS];
  pthread_mutex_t lock; ///< For `idle`
  workplace*      idle;
};

/// Returns the exact mid-band frequency, or an edge at `offset` of -0.5 or 0.5:
/// for an even number of bands per octave 1000 G^((2 x + 1) / 12), G = 10^0.3
/// (IEC 61260-1:2014, 5.2 to 5.5)
static double
position_hz(uint32_t band, double offset)
{
  const double x = (double)band + LOWEST_BAND;
  return 1000.0 * pow(10.0, 0.3 * (2.0 * (x + offset) + 1.0) / 12.0);
}

double
spectrum_band_hz(uint32_t band)
{
  return position_hz(band, 0.0);
}

/// Half a bin to either side of its frequency counts as its own
static band_bins
bins_of(const spectrum_tools* t, uint32_t band)
{
  const double   bin_hz = t->rate_hz / t->size;
  const double   low    = position_hz(band, -0.5) / bin_hz + 0.5;
  const double   high   = position_hz(band, 0.5) / bin_hz + 0.5;
  const uint32_t first  = (uint32_t)low;
  const uint32_t last   = (uint32_t)high;
  if (first == last) {
    return (band_bins){first, last, (float)(high - low), 0.0F};
  }
  return (band_bins){first, last, (float)(first + 1.0 - low),
                     (float)(high - last)};
}

static bool
is_reached(const spectrum_tools* t, uint32_t band)
{
  return position_hz(band, 0.5) <= t->rate_hz / 2.0 &&
         t->bands[band].last < t->size / 2;
}

spectrum_tools*
spectrum_tools_new(double rate_hz)
{
  spectrum_tools* const t = alloc_new(1, sizeof(*t));
  t->rate_hz              = rate_hz;
  t->size                 = 1024;
  while (t->size < WINDOW_S * rate_hz) {
    t->size *= 2;
  }
  t->hann = alloc_new(t->size, sizeof(float));
  t->fft  = power_fft_new(t->size);
  (void)pthread_mutex_init(&t->lock, NULL);
  for (uint32_t i = 0; i < t->size; ++i) {
    t->hann[i] = (float)(0.5 - 0.5 * cos(2.0 * DSP_PI * i / t->size));
  }
  for (uint32_t i = 0; i < SPECTRUM_N_BANDS; ++i) {
    t->bands[i] = bins_of(t, i);
  }
  return t;
}

void
spectrum_tools_free(spectrum_tools* t)
{
  if (!t) {
    return;
  }
  while (t->idle) {
    workplace* const w = t->idle;
    t->idle            = w->next;
    free(w->rows);
    free(w);
  }
  (void)pthread_mutex_destroy(&t->lock);
  power_fft_free(t->fft);
  free(t->hann);
  free(t);
}

uint32_t
spectrum_tools_size(const spectrum_tools* t)
{
  return t->size;
}

static workplace*
take_workplace(spectrum_tools* t)
{
  (void)pthread_mutex_lock(&t->lock);
  workplace* w = t->idle;
  if (w) {
    t->idle = w->next;
  }
  (void)pthread_mutex_unlock(&t->lock);
  if (!w) {
    w = alloc_new(1, sizeof(*w));
    w->rows =
      alloc_check(aligned_alloc(CACHE_LINE, (size_t)t->size * sizeof(f32x8)));
  }
  return w;
}

static void
give_back(spectrum_tools* t, workplace* w)
{
  (void)pthread_mutex_lock(&t->lock);
  w->next = t->idle;
  t->idle = w;
  (void)pthread_mutex_unlock(&t->lock);
}

WIDE_CLONES static void
apply_window(signal_row*       to,
             const signal_row* from,
             const float*      hann,
             uint32_t          n)
{
  for (uint32_t i = 0; i < n; ++i) {
    to[i] = from[i] * hann[i];
  }
}

/// Adds the powers of one band, which `rows` holds
WIDE_CLONES static void
add_band(signal_sums*      sum,
         const band_bins*  b,
         const power_fft*  fft,
         const signal_row* rows)
{
  f32x8 power = rows[power_fft_place(fft, b->first)] * b->first_share;
  for (uint32_t i = b->first + 1; i < b->last; ++i) {
    power += rows[power_fft_place(fft, i)];
  }
  if (b->last > b->first) {
    power += rows[power_fft_place(fft, b->last)] * b->last_share;
  }
  *sum += __builtin_convertvector(power, f64x8);
}

void
spectrum_tools_add(spectrum_tools*   t,
                   const signal_row* window,
                   signal_sums*      bands)
{
  workplace* const w = take_workplace(t);
  apply_window(w->rows, window, t->hann, t->size);
  power_fft_run(t->fft, w->rows);
  for (uint32_t i = 0; i < SPECTRUM_N_BANDS; ++i) {
    if (is_reached(t, i)) {
      add_band(&bands[i], &t->bands[i], t->fft, w->rows);
    }
  }
  give_back(t, w);
}

double
spectrum_tools_scale(const spectrum_tools* t, uint32_t band, uint64_t n_windows)
{
  // Parseval: sum |X|^2 over all bins = N sum (w x)^2, and the mean square of
  // a Hann window is 3/8; half of the bins are here
  const double size = t->size;
  return is_reached(t, band)
           ? 2.0 / (size * size * 0.375 * fmax(1.0, (double)n_windows))
           : (double)NAN;
}
