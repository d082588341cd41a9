// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Attack and release times from the crest factor of the programme: quick while
/// peaks stand out, slow while the level is steady.
///
/// D. Giannoulis, M. Massberg, J. D. Reiss, "Parameter Automation in a Dynamic
/// Range Compressor", J. Audio Eng. Soc. 61(10), 2013.  The maxima and the
/// limits are our choice for guitar: without limits the first milliseconds of
/// every pick would ask for an attack of less than 0.5 ms.
///
/// Works once per line of the control grid, on the squares of the frames since
/// the last.  Real-time safe.

#ifndef COMMON_DYNAMICS_CREST_TIMING_H
#define COMMON_DYNAMICS_CREST_TIMING_H

#include "common/core/dsp.h"

typedef struct {
  double attack_s, release_s;
} compressor_times;

typedef struct {
  double keep; ///< Share of a mean square left after CONTROL_FRAMES
  float  weights[CONTROL_FRAMES]; ///< For the frames since the last line
  double peak2, rms2;
} crest_timing;

void
crest_timing_init(crest_timing* c, double rate_hz);

void
crest_timing_reset(crest_timing* c);

/// Takes the CONTROL_FRAMES squares since the last line
void
crest_timing_update(crest_timing* c, const float* squares);

/// Returns peak^2 / RMS^2: 2 for a sine, 1 for a square wave and for silence
double
crest_timing_crest2(const crest_timing* c);

/// Returns the times of the law: 2 max / crest^2, the attack subtracted from
/// the release, because the two act in series
compressor_times
crest_timing_law(double crest2, double attack_max_s, double release_max_s);

/// Returns the times for guitar: the law with 20 ms and 0.4 s, within 2 to 30
/// ms and 60 to 600 ms
compressor_times
crest_timing_times(const crest_timing* c);

#endif // COMMON_DYNAMICS_CREST_TIMING_H
