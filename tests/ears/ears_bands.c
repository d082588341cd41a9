// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "ears_bands.h"

#include "common/core/dsp.h"
#include "ears_sound.h"
#include "presets-demo/render/audio/level_meter.h"
#include "presets-demo/render/program/alloc.h"

#include <kiss_fftr.h>

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define WINDOW_FRAMES 32768U
#define OVERLAP       4U
#define LOWEST_THIRD  (-16.0) ///< x of IEC 61260-1: 25 Hz
#define THD_FRAMES    65536U

static double
third_edge_hz(double x)
{
  return 1000.0 * pow(10.0, 0.1 * (x + LOWEST_THIRD));
}

double
ears_third_hz(size_t third)
{
  return third_edge_hz((double)third);
}

size_t
ears_third_at(double hz)
{
  return (size_t)lround(10.0 * log10(hz / 1000.0) - LOWEST_THIRD);
}

void
ears_spectrum(const float* x, size_t size, double* power)
{
  kiss_fft_cpx* const bins     = alloc_new(size / 2 + 1, sizeof(*bins));
  float* const        windowed = alloc_new(size, sizeof(*windowed));
  kiss_fftr_cfg fft = alloc_check(kiss_fftr_alloc((int)size, 0, NULL, NULL));
  for (size_t i = 0; i < size; ++i) {
    const double turn = 2.0 * DSP_PI * (double)i / (double)size;
    windowed[i]       = (float)((double)x[i] * (0.5 - 0.5 * cos(turn)));
  }
  kiss_fftr(fft, windowed, bins);
  for (size_t i = 0; i <= size / 2; ++i) {
    power[i] = (double)bins[i].r * (double)bins[i].r +
               (double)bins[i].i * (double)bins[i].i;
  }
  kiss_fftr_free(fft);
  free(windowed);
  free(bins);
}

/// Sum of the bins, each of which reaches half a bin to both sides
static double
power_between(const double* power, size_t size, double low_hz, double high_hz)
{
  const double low  = low_hz * (double)size / EARS_RATE_HZ;
  const double high = high_hz * (double)size / EARS_RATE_HZ;
  double       sum  = 0.0;
  for (size_t i = (size_t)fmax(low, 0.0); i <= size / 2; ++i) {
    const double from = fmax(low, (double)i - 0.5);
    const double to   = fmin(high, (double)i + 0.5);
    if ((double)i - 0.5 > high) {
      break;
    }
    sum += to > from ? power[i] * (to - from) : 0.0;
  }
  return sum;
}

void
ears_thirds_add(const double* power, size_t size, double* third)
{
  for (size_t k = 0; k < EARS_N_THIRDS; ++k) {
    third[k] += power_between(power, size, third_edge_hz((double)k - 0.5),
                              third_edge_hz((double)k + 0.5));
  }
}

ears_bands
ears_bands_of(const float* x, size_t n)
{
  const size_t size   = WINDOW_FRAMES;
  const size_t hop    = size / OVERLAP;
  float* const frames = alloc_new(size, sizeof(*frames));
  double*      power  = alloc_new(size / 2 + 1, sizeof(*power));
  double*      sum    = alloc_new(size / 2 + 1, sizeof(*sum));
  for (size_t end = hop; end < n + size; end += hop) {
    // The window is end - size .. end, of which the sound has 0 .. n
    for (size_t i = 0; i < size; ++i) {
      const size_t at = end + i;
      frames[i]       = at >= size && at - size < n ? x[at - size] : 0.0F;
    }
    ears_spectrum(frames, size, power);
    for (size_t i = 0; i <= size / 2; ++i) {
      sum[i] += power[i];
    }
  }
  // Parseval: sum |X|^2 over all bins = N sum (w x)^2; the squares of OVERLAP
  // Hann windows add up to OVERLAP 3 / 8; half of the bins are here
  const double scale = 2.0 / ((double)size * OVERLAP * 0.375 * (double)n);
  ears_bands   b     = {.below_20_hz = 0.0};
  sum[0] *= 0.5;
  for (size_t i = 0; i <= size / 2; ++i) {
    sum[i] *= scale;
    b.all += sum[i];
  }
  // What lies at 0 Hz is in the lower half bin, too
  b.below_20_hz = power_between(sum, size, -1.0, 20.0);
  ears_thirds_add(sum, size, b.third);
  free(sum);
  free(power);
  free(frames);
  return b;
}

double
ears_third_db(const ears_bands* b, double hz)
{
  return level_power_db(b->third[ears_third_at(hz)]);
}

double
ears_third_re_middle_db(const ears_bands* b, double hz)
{
  const size_t k      = ears_third_at(1000.0);
  const double middle = (b->third[k - 1] + b->third[k] + b->third[k + 1]) / 3.0;
  return ears_third_db(b, hz) - level_power_db(middle);
}

double
ears_slope_db(const ears_bands* b)
{
  // Least squares at -1/2, -1/6, 1/6 and 1/2 octave around the middle
  const size_t k   = ears_third_at(4000.0);
  double       sum = 0.0;
  for (int i = 0; i < 4; ++i) {
    sum += (i - 1.5) / 3.0 * level_power_db(b->third[k + (size_t)i]);
  }
  return sum * 9.0 / 5.0;
}

double
ears_low_share_db(const ears_bands* b)
{
  double low  = 0.0;
  double rest = 0.0;
  for (size_t k = 0; k < EARS_N_THIRDS; ++k) {
    const bool is_low = k >= ears_third_at(63.0) && k <= ears_third_at(160.0);
    low += is_low ? b->third[k] : 0.0;
    rest += is_low ? 0.0 : b->third[k];
  }
  return level_power_db(low) - level_power_db(rest);
}

double
ears_thd_pc(const float* x, size_t n, double hz)
{
  const size_t size = THD_FRAMES;
  if (n < size) {
    return (double)NAN;
  }
  double* const power = alloc_new(size / 2 + 1, sizeof(*power));
  ears_spectrum(x + n - size, size, power);
  const double first = power_between(power, size, hz - 10.0, hz + 10.0);
  double       rest  = 0.0;
  for (int k = 2; hz * k < 20000.0; ++k) {
    rest += power_between(power, size, hz * k - 10.0, hz * k + 10.0);
  }
  free(power);
  return 100.0 * sqrt(rest / first);
}

double
ears_edge_db(const ears_bands* b)
{
  double sum = 0.0;
  for (size_t k = ears_third_at(2000.0); k <= ears_third_at(5000.0); ++k) {
    sum += b->third[k];
  }
  return 10.0 * log10(sum / b->all);
}
