// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "stereo_image.h"

#include <math.h>

#define WINDOW_S     0.4
#define PIECE_FRAMES 512U

/// Windows below -70 dBFS are not judged
#define MIN_POWER 1e-7

void
stereo_image_init(stereo_image*   m,
                  double          rate_hz,
                  uint64_t        n_frames,
                  spectrum_tools* spectra)
{
  const uint32_t        one  = 1;
  const probe_bank_spec mono = {
    .n_channels = &one, .n_signals = 1, .rate_hz = rate_hz, .spectra = spectra};
  *m      = (stereo_image){.window_frames = (uint32_t)lrint(WINDOW_S * rate_hz),
                           .bank          = probe_bank_new(&mono)};
  m->mono = (probe){.bank = m->bank};
  time_series_init(&m->correlation, rate_hz, n_frames);
}

void
stereo_image_clear(stereo_image* m)
{
  probe_bank_free(m->bank);
  m->bank = NULL;
  time_series_clear(&m->correlation);
}

static double
correlation(double ll, double rr, double lr)
{
  return ll > 0.0 && rr > 0.0 ? lr / sqrt(ll * rr) : (double)NAN;
}

static void
end_window(stereo_image* m)
{
  const double* const w    = m->window;
  const bool          says = w[0] + w[1] > 2.0 * MIN_POWER * m->window_frames;
  time_series_add(&m->correlation,
                  says ? correlation(w[0], w[1], w[2]) : (double)NAN,
                  m->window_frames);
  m->ll += w[0];
  m->rr += w[1];
  m->lr += w[2];
  m->n_window  = 0;
  m->window[0] = m->window[1] = m->window[2] = 0.0;
}

void
stereo_image_add(stereo_image* m, const float* const* x, uint32_t n)
{
  float              sum[PIECE_FRAMES];
  const float* const mono[] = {sum};
  for (uint32_t i = 0; i < n;) {
    uint32_t now = n - i < PIECE_FRAMES ? n - i : PIECE_FRAMES;
    if (now > m->window_frames - m->n_window) {
      now = m->window_frames - m->n_window;
    }
    for (uint32_t j = 0; j < now; ++j) {
      const double l = (double)x[0][i + j];
      const double r = (double)x[1][i + j];
      sum[j]         = (float)(0.5 * (l + r));
      m->window[0] += l * l;
      m->window[1] += r * r;
      m->window[2] += l * r;
    }
    probe_bank_add(m->bank, 0, mono, now);
    m->n_window += now;
    i += now;
    if (m->n_window == m->window_frames) {
      end_window(m);
    }
  }
}

double
stereo_image_correlation(const stereo_image* m)
{
  return correlation(m->ll + m->window[0], m->rr + m->window[1],
                     m->lr + m->window[2]);
}

double
stereo_image_mono_db(const stereo_image* m)
{
  const double sides = m->ll + m->rr + m->window[0] + m->window[1];
  const double cross = m->lr + m->window[2];
  // |(l + r) / 2|^2 against (l^2 + r^2) / 2
  return sides > 0.0
           ? level_power_db(fmax(0.0, 0.5 * (sides + 2.0 * cross) / sides))
           : (double)NAN;
}
