// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "probe_bank.h"

#include "presets-demo/render/audio/level_meter.h"
#include "presets-demo/render/measure/loudness_bank.h"
#include "presets-demo/render/program/alloc.h"

#include <ebur128.h>

#include <math.h>
#include <stdlib.h>

#define PIECE_FRAMES 512U

struct probe_bank {
  uint32_t       n_signals;
  signal_rows*   rows;
  loudness_bank* loudness; ///< NULL: not measured, as the others
  spectrum*      spectra;
  ebur128_state* mix; ///< NULL also if libebur128 cannot measure at this rate
};

probe_bank*
probe_bank_new(const probe_bank_spec* spec)
{
  probe_bank* const b = alloc_new(1, sizeof(*b));
  b->n_signals        = spec->n_signals;
  b->rows             = signal_rows_new(spec->n_channels, spec->n_signals);
  if (spec->has_loudness) {
    b->loudness =
      loudness_bank_new(spec->n_channels, spec->n_signals, spec->rate_hz);
  }
  if (spec->spectra) {
    b->spectra = spectrum_new(spec->spectra, spec->n_channels, spec->n_signals);
  }
  if (spec->is_mix) {
    b->mix =
      ebur128_init(spec->n_channels[0], (unsigned long)lrint(spec->rate_hz),
                   EBUR128_MODE_LRA | EBUR128_MODE_TRUE_PEAK);
  }
  return b;
}

void
probe_bank_free(probe_bank* b)
{
  if (b) {
    if (b->mix) {
      ebur128_destroy(&b->mix);
    }
    spectrum_free(b->spectra);
    loudness_bank_free(b->loudness);
    signal_rows_free(b->rows);
    free(b);
  }
}

static void
add_to_mix(ebur128_state* mix, const float* const* x, uint32_t n)
{
  const uint32_t n_channels = mix->channels;
  float          frames[2 * PIECE_FRAMES];
  for (uint32_t i = 0; i < n; ++i) {
    for (uint32_t k = 0; k < n_channels; ++k) {
      // NOLINTNEXTLINE(clang-analyzer-core.NullDereference): all are there
      frames[i * n_channels + k] = x[k][i];
    }
  }
  (void)ebur128_add_frames_float(mix, frames, n);
}

static void
add_piece(probe_bank* b, uint32_t signal, const float* const* x, uint32_t n)
{
  signal_rows_add(b->rows, signal, x, n);
  if (b->mix && signal == 0) {
    add_to_mix(b->mix, x, n);
  }
  if (signal + 1 == b->n_signals) {
    const uint32_t n_ready = signal_rows_n_ready(b->rows);
    if (b->loudness) {
      loudness_bank_add(b->loudness, b->rows, n_ready);
    }
    if (b->spectra) {
      spectrum_add(b->spectra, b->rows, n_ready);
    }
    signal_rows_drop(b->rows, n_ready);
  }
}

void
probe_bank_add(probe_bank*         b,
               uint32_t            signal,
               const float* const* x,
               uint32_t            n)
{
  for (uint32_t i = 0; i < n; i += PIECE_FRAMES) {
    const uint32_t     now        = n - i < PIECE_FRAMES ? n - i : PIECE_FRAMES;
    const uint32_t     n_channels = signal_rows_n_channels(b->rows, signal);
    const float* const from[]     = {x[0] + i, x[n_channels - 1U] + i};
    add_piece(b, signal, from, now);
  }
}

double
probe_bank_lufs(const probe_bank* b, uint32_t signal)
{
  return b->loudness ? loudness_bank_lufs(b->loudness, signal) : (double)NAN;
}

double
probe_bank_range_lu(const probe_bank* b)
{
  double lu = 0.0;
  return b->mix && !ebur128_loudness_range(b->mix, &lu) ? lu : (double)NAN;
}

double
probe_bank_true_peak_db(const probe_bank* b)
{
  double top = 0.0;
  for (uint32_t k = 0; b->mix && k < b->mix->channels; ++k) {
    double peak = 0.0;
    if (ebur128_true_peak(b->mix, k, &peak)) {
      return (double)NAN;
    }
    top = fmax(top, peak);
  }
  return b->mix ? level_power_db(top * top) : (double)NAN;
}

double
probe_bank_band_power(const probe_bank* b, uint32_t signal, uint32_t band)
{
  return b->spectra ? spectrum_band_power(b->spectra, signal, band)
                    : (double)NAN;
}
