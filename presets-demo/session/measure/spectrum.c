// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "spectrum.h"

#include "common/core/dsp.h"
#include "presets-demo/render/program/alloc.h"

#include <kiss_fftr.h>

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define WINDOW_S    0.16
#define LOWEST_BAND (-28) // x of IEC 61260-1: 41 Hz

struct spectrum {
  double        rate_hz;
  uint32_t      n_channels;
  uint32_t      size;    ///< Frames of a window, a power of two
  uint32_t      filled;  ///< Frames of the unfinished window
  float*        last[2]; ///< That window
  float*        hann;
  float*        windowed;
  kiss_fft_cpx* bins;
  kiss_fftr_cfg fft;
  double*       power; ///< By bin, summed over windows and channels
  uint64_t      n_windows;
};

spectrum*
spectrum_new(double rate_hz, uint32_t n_channels)
{
  spectrum* const s = alloc_new(1, sizeof(*s));
  s->rate_hz        = rate_hz;
  s->n_channels     = n_channels;
  s->size           = 1024;
  while (s->size < WINDOW_S * rate_hz) {
    s->size *= 2;
  }
  for (uint32_t k = 0; k < n_channels; ++k) {
    s->last[k] = alloc_new(s->size, sizeof(float));
  }
  s->hann     = alloc_new(s->size, sizeof(float));
  s->windowed = alloc_new(s->size, sizeof(float));
  s->bins     = alloc_new(s->size / 2 + 1, sizeof(*s->bins));
  s->power    = alloc_new(s->size / 2 + 1, sizeof(double));
  s->fft      = kiss_fftr_alloc((int)s->size, 0, NULL, NULL);
  for (uint32_t i = 0; i < s->size; ++i) {
    s->hann[i] = (float)(0.5 - 0.5 * cos(2.0 * DSP_PI * i / s->size));
  }
  return s;
}

void
spectrum_free(spectrum* s)
{
  if (s) {
    kiss_fftr_free(s->fft);
    free(s->power);
    free(s->bins);
    free(s->windowed);
    free(s->hann);
    free(s->last[0]);
    free(s->last[1]);
    free(s);
  }
}

/// Adds the full window to the sum, and keeps its second half
static void
end_window(spectrum* s)
{
  for (uint32_t k = 0; k < s->n_channels; ++k) {
    for (uint32_t i = 0; i < s->size; ++i) {
      s->windowed[i] = s->last[k][i] * s->hann[i];
    }
    kiss_fftr(s->fft, s->windowed, s->bins);
    for (uint32_t i = 0; i <= s->size / 2; ++i) {
      s->power[i] += (double)s->bins[i].r * (double)s->bins[i].r +
                     (double)s->bins[i].i * (double)s->bins[i].i;
    }
    memmove(s->last[k], s->last[k] + s->size / 2, s->size / 2 * sizeof(float));
  }
  s->filled = s->size / 2;
  ++s->n_windows;
}

void
spectrum_add(spectrum* s, const float* const* x, uint32_t n)
{
  for (uint32_t i = 0; s->fft && i < n;) {
    const uint32_t left = s->size - s->filled;
    const uint32_t now  = n - i < left ? n - i : left;
    for (uint32_t k = 0; k < s->n_channels; ++k) {
      memcpy(s->last[k] + s->filled, x[k] + i, now * sizeof(float));
    }
    s->filled += now;
    i += now;
    if (s->filled == s->size) {
      end_window(s);
    }
  }
}

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

double
spectrum_band_power(const spectrum* s, uint32_t band)
{
  const double low    = position_hz(band, -0.5);
  const double high   = position_hz(band, 0.5);
  const double bin_hz = s->rate_hz / s->size;
  if (high > s->rate_hz / 2.0) {
    return (double)NAN;
  }
  if (!s->n_windows) {
    return 0.0;
  }
  double sum = 0.0;
  for (uint32_t i = 1; i < s->size / 2; ++i) {
    // The part of this bin, half a bin to either side, that is in the band
    const double from = fmax(low, (i - 0.5) * bin_hz);
    const double to   = fmin(high, (i + 0.5) * bin_hz);
    sum += to > from ? s->power[i] * (to - from) / bin_hz : 0.0;
  }
  // Parseval: sum |X|^2 over all bins = N sum (w x)^2, and the mean square of
  // a Hann window is 3/8; half of the bins are here
  const double size = s->size;
  return 2.0 * sum /
         (size * size * 0.375 * (double)s->n_windows * s->n_channels);
}
