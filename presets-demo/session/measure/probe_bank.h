// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Measures several signals at once for the report: the joints of a chain, or
/// one signal alone.  Memory does not depend on the length, but for the
/// loudness range of the mix, which keeps some 30 bytes a second.

#ifndef PRESETS_DEMO_SESSION_MEASURE_PROBE_BANK_H
#define PRESETS_DEMO_SESSION_MEASURE_PROBE_BANK_H

#include "spectrum.h"

#include <stdbool.h>

typedef struct probe_bank probe_bank;

typedef struct {
  const uint32_t* n_channels; ///< Of each signal, 1 or 2
  uint32_t        n_signals;
  double          rate_hz;
  bool            has_loudness;
  spectrum_tools* spectra; ///< NULL: none
  bool            is_mix;  ///< Also true peak and loudness range of signal 0
} probe_bank_spec;

/// Never returns NULL
probe_bank*
probe_bank_new(const probe_bank_spec* spec);

void
probe_bank_free(probe_bank* b);

/// Adds any number of frames to a signal.  What all signals have is measured
/// when the last one is added to.
void
probe_bank_add(probe_bank*         b,
               uint32_t            signal,
               const float* const* x,
               uint32_t            n);

// See probe.h; NAN for what is not measured

double
probe_bank_lufs(const probe_bank* b, uint32_t signal);

double
probe_bank_range_lu(const probe_bank* b);

double
probe_bank_true_peak_db(const probe_bank* b);

double
probe_bank_band_power(const probe_bank* b, uint32_t signal, uint32_t band);

#endif // PRESETS_DEMO_SESSION_MEASURE_PROBE_BANK_H
