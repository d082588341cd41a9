// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Measures a signal for the report

#ifndef PRESETS_DEMO_SESSION_MEASURE_PROBE_H
#define PRESETS_DEMO_SESSION_MEASURE_PROBE_H

#include "presets-demo/render/audio/level_meter.h"
#include "spectrum.h"

#include <ebur128.h>

typedef struct {
  uint32_t       n_channels;
  level_meter    level;
  ebur128_state* loudness; ///< NULL if libebur128 cannot measure at this rate
  spectrum*      spectrum;
} probe;

/// Prepares a probe; with `is_mix` it also measures true peak and loudness
/// range
void
probe_init(probe* p, uint32_t n_channels, double rate_hz, bool is_mix);

void
probe_clear(probe* p);

/// Measures any number of frames
void
probe_add(probe* p, const float* const* x, uint32_t n);

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

/// Returns the mean square in a band of 1/6 octave, in dB
double
probe_band_db(const probe* p, uint32_t band);

#endif // PRESETS_DEMO_SESSION_MEASURE_PROBE_H
