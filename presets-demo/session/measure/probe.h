// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// What there is to say about a signal, for the report

#ifndef PRESETS_DEMO_SESSION_MEASURE_PROBE_H
#define PRESETS_DEMO_SESSION_MEASURE_PROBE_H

#include "presets-demo/render/audio/level_meter.h"
#include "spectrum.h"

#include <ebur128.h>

typedef struct {
  uint32_t       n_channels;
  level_meter    level;
  ebur128_state* loudness; ///< NULL if there is none for this rate
  spectrum*      spectrum;
} probe;

/// With `is_mix` true peak and loudness range are measured as well
void
probe_init(probe* p, uint32_t n_channels, double rate_hz, bool is_mix);

void
probe_clear(probe* p);

/// Any number of frames
void
probe_add(probe* p, const float* const* x, uint32_t n);

/// Integrated loudness by ITU-R BS.1770 in LUFS, mono as heard from two
/// loudspeakers.  -INFINITY of silence.
double
probe_loudness_lufs(const probe* p);

/// Peak less gated RMS; NAN of silence
double
probe_crest_db(const probe* p);

/// By EBU Tech 3342, in LU; of a mix
double
probe_range_lu(const probe* p);

/// Of a mix
double
probe_true_peak_db(const probe* p);

/// Mean square in a band of 1/6 octave, in dB
double
probe_band_db(const probe* p, uint32_t band);

#endif // PRESETS_DEMO_SESSION_MEASURE_PROBE_H
