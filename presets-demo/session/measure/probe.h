// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// What the report says of one signal.  A probe points into what measures: the
/// level meter of the signal, and a bank that measures it together with others.

#ifndef PRESETS_DEMO_SESSION_MEASURE_PROBE_H
#define PRESETS_DEMO_SESSION_MEASURE_PROBE_H

#include "presets-demo/render/audio/level_meter.h"
#include "probe_bank.h"

typedef struct {
  const level_meter* level; ///< NULL if only the spectrum is measured
  const probe_bank*  bank;
  uint32_t           signal; ///< Its number in the bank
} probe;

/// Returns the integrated loudness by ITU-R BS.1770 in LUFS, mono as heard from
/// two loudspeakers.  -INFINITY for silence.
double
probe_loudness_lufs(const probe* p);

/// Returns the peak less the gated RMS; NAN for silence
double
probe_crest_db(const probe* p);

/// Returns the loudness range by EBU Tech 3342 in LU; mix only
double
probe_range_lu(const probe* p);

/// Returns the true peak; mix only
double
probe_true_peak_db(const probe* p);

/// Returns the mean square in a band of 1/6 octave, in dB; banks with spectra
/// only
double
probe_band_db(const probe* p, uint32_t band);

#endif // PRESETS_DEMO_SESSION_MEASURE_PROBE_H
