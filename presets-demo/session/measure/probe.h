// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// What the report says of one signal.  A probe points into what measures: the
/// level meter of the signal, and a bank that measures it together with others.
/// Its figures are what is left when that is gone.

#ifndef PRESETS_DEMO_SESSION_MEASURE_PROBE_H
#define PRESETS_DEMO_SESSION_MEASURE_PROBE_H

#include "presets-demo/render/audio/level_meter.h"
#include "probe_bank.h"

typedef struct {
  const level_meter* level; ///< NULL if only the spectrum is measured
  const probe_bank*  bank;
  uint32_t           signal; ///< Its number in the bank
} probe;

/// NAN for what is not measured, -INFINITY for silence
typedef struct {
  double level_db; ///< Gated RMS, dBFS
  double peak_db;
  double crest_db; ///< Peak less gated RMS; NAN for silence, too
  double lufs;     ///< Integrated loudness, ITU-R BS.1770; mono as heard from
                   ///< two loudspeakers
  double bands_db[SPECTRUM_N_BANDS]; ///< Mean squares in bands of 1/6 octave
} signal_figures;

signal_figures
probe_figures(const probe* p);

/// Returns the loudness range by EBU Tech 3342 in LU; mix only
double
probe_range_lu(const probe* p);

/// Returns the true peak; mix only
double
probe_true_peak_db(const probe* p);

#endif // PRESETS_DEMO_SESSION_MEASURE_PROBE_H
