// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// The mean spectra of several signals at once, in bands of 1/6 octave.
///
/// Power of overlapping Hann windows of about 1/6 s, averaged (P. D. Welch,
/// "The use of fast Fourier transform for the estimation of power spectra",
/// IEEE Trans. Audio Electroacoust. AU-15(2), 1967), summed into the bands of
/// IEC 61260-1:2014, section 5.  Below about 50 Hz a band is narrower than the
/// resolution of the windows and shows part of its neighbours too.
///
/// Eight channels are transformed together.  Memory does not depend on the
/// length.

#ifndef PRESETS_DEMO_SESSION_MEASURE_SPECTRUM_H
#define PRESETS_DEMO_SESSION_MEASURE_SPECTRUM_H

#include "spectrum_tools.h"

typedef struct spectrum spectrum;

/// Makes spectra for signals of 1 or 2 channels each; `tools` must outlive
/// them.  Never returns NULL.
spectrum*
spectrum_new(spectrum_tools* tools,
             const uint32_t* n_channels,
             uint32_t        n_signals);

void
spectrum_free(spectrum* s);

/// Adds the next `n` rows, which are ready
void
spectrum_add(spectrum* s, const signal_rows* rows, uint32_t n);

/// Returns the mean square of a signal in a band, averaged over its channels:
/// the sum of all bands is that of the signal between 40 Hz and 19 kHz.  NAN if
/// the rate does not reach the band.
double
spectrum_band_power(const spectrum* s, uint32_t signal, uint32_t band);

#endif // PRESETS_DEMO_SESSION_MEASURE_SPECTRUM_H
