// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "probe.h"

#include <math.h>

#define PIECE_FRAMES 512U

void
probe_init(probe* p, uint32_t n_channels, double rate_hz, bool is_mix)
{
  const int mode =
    is_mix ? EBUR128_MODE_I | EBUR128_MODE_LRA | EBUR128_MODE_TRUE_PEAK
           : EBUR128_MODE_I;
  *p = (probe){.n_channels = n_channels,
               .loudness =
                 ebur128_init(n_channels, (unsigned long)lrint(rate_hz), mode),
               .spectrum = spectrum_new(rate_hz, n_channels)};
  level_meter_init(&p->level, rate_hz);
  if (p->loudness && n_channels == 1) {
    (void)ebur128_set_channel(p->loudness, 0, EBUR128_DUAL_MONO);
  }
}

void
probe_clear(probe* p)
{
  if (p->loudness) {
    ebur128_destroy(&p->loudness);
  }
  spectrum_free(p->spectrum);
  level_meter_clear(&p->level);
}

void
probe_add(probe* p, const float* const* x, uint32_t n)
{
  (void)level_meter_add(&p->level, x, p->n_channels, n);
  spectrum_add(p->spectrum, x, n);
  for (uint32_t i = 0; p->loudness && i < n; i += PIECE_FRAMES) {
    const uint32_t now = n - i < PIECE_FRAMES ? n - i : PIECE_FRAMES;
    float          frames[2 * PIECE_FRAMES];
    for (uint32_t j = 0; j < now; ++j) {
      for (uint32_t k = 0; k < p->n_channels; ++k) {
        frames[j * p->n_channels + k] = x[k][i + j];
      }
    }
    (void)ebur128_add_frames_float(p->loudness, frames, now);
  }
}

double
probe_loudness_lufs(const probe* p)
{
  double lufs = 0.0;
  return p->loudness && !ebur128_loudness_global(p->loudness, &lufs)
           ? lufs
           : (double)NAN;
}

double
probe_crest_db(const probe* p)
{
  const double rms_db = level_meter_gated_db(&p->level);
  return isfinite(rms_db) ? level_meter_peak_db(&p->level) - rms_db
                          : (double)NAN;
}

double
probe_range_lu(const probe* p)
{
  double lu = 0.0;
  return p->loudness && !ebur128_loudness_range(p->loudness, &lu) ? lu
                                                                  : (double)NAN;
}

double
probe_true_peak_db(const probe* p)
{
  double top = 0.0;
  for (uint32_t k = 0; k < p->n_channels; ++k) {
    double peak = 0.0;
    if (!p->loudness || ebur128_true_peak(p->loudness, k, &peak)) {
      return (double)NAN;
    }
    top = fmax(top, peak);
  }
  return level_power_db(top * top);
}

double
probe_band_db(const probe* p, uint32_t band)
{
  const double power = spectrum_band_power(p->spectrum, band);
  return isnan(power) ? power : level_power_db(power);
}
