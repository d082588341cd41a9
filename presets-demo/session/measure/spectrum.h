// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// The mean spectrum of a signal in bands of 1/6 octave.
///
/// Power of overlapping Hann windows of about 1/6 s, averaged (P. D. Welch,
/// "The use of fast Fourier transform for the estimation of power spectra",
/// IEEE Trans. Audio Electroacoust. AU-15(2), 1967), summed into the bands of
/// IEC 61260-1:2014, section 5.  Below about 50 Hz a band is narrower than the
/// resolution of the windows and shows part of its neighbours too.

#ifndef PRESETS_DEMO_SESSION_MEASURE_SPECTRUM_H
#define PRESETS_DEMO_SESSION_MEASURE_SPECTRUM_H

#include <stdint.h>

#define SPECTRUM_N_BANDS 54 ///< 41 Hz to 18.8 kHz

typedef struct spectrum spectrum;

/// Never returns NULL
spectrum*
spectrum_new(double rate_hz, uint32_t n_channels);

void
spectrum_free(spectrum* s);

void
spectrum_add(spectrum* s, const float* const* x, uint32_t n);

/// Returns the mid-band frequency
double
spectrum_band_hz(uint32_t band);

/// Returns the mean square in a band, averaged over the channels: the sum of
/// all bands is that of the signal between 40 Hz and 19 kHz.  NAN if the rate
/// does not reach the band.
double
spectrum_band_power(const spectrum* s, uint32_t band);

#endif // PRESETS_DEMO_SESSION_MEASURE_SPECTRUM_H
