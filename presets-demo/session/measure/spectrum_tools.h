// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// What all spectra at one rate share: window, transform, bands, and memory to
/// transform in.  Any number of threads may use the same tools.

#ifndef PRESETS_DEMO_SESSION_MEASURE_SPECTRUM_TOOLS_H
#define PRESETS_DEMO_SESSION_MEASURE_SPECTRUM_TOOLS_H

#include "presets-demo/render/measure/signal_rows.h"

#define SPECTRUM_N_BANDS 54 ///< 41 Hz to 18.8 kHz

/// A sum for each lane of a row, at any address that a double may have
typedef f64x8 signal_sums __attribute__((aligned(8)));

typedef struct spectrum_tools spectrum_tools;

/// Never returns NULL
spectrum_tools*
spectrum_tools_new(double rate_hz);

void
spectrum_tools_free(spectrum_tools* t);

/// Returns the frames of a window, a power of two
uint32_t
spectrum_tools_size(const spectrum_tools* t);

/// Transforms a window of rows, and adds to `bands` the power in each: |X|^2 of
/// its bins, those at its edges by their share
void
spectrum_tools_add(spectrum_tools*   t,
                   const signal_row* window,
                   signal_sums*      bands);

/// Returns the factor from those sums, over so many windows, to a mean square;
/// NAN if the rate does not reach the band
double
spectrum_tools_scale(const spectrum_tools* t,
                     uint32_t              band,
                     uint64_t              n_windows);

/// Returns the mid-band frequency
double
spectrum_band_hz(uint32_t band);

#endif // PRESETS_DEMO_SESSION_MEASURE_SPECTRUM_TOOLS_H
