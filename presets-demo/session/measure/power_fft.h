// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Power spectra of eight real signals at once, a signal in each lane of a
/// register.
///
/// A Fourier transform of half the length, on pairs of samples as complex
/// numbers, by decimation in frequency with radix 4 (J. W. Cooley and J. W.
/// Tukey, "An algorithm for the machine calculation of complex Fourier series",
/// Math. Comp. 19, 1965); a last step parts even and odd samples.  In place:
/// the bins stay in the order in which they fall.
///
/// Our own, because no packaged library fits: the quick ones are under the GPL,
/// the others transform one signal at a time without vectors, at eight times
/// the cost.

#ifndef PRESETS_DEMO_SESSION_MEASURE_POWER_FFT_H
#define PRESETS_DEMO_SESSION_MEASURE_POWER_FFT_H

#include "presets-demo/render/measure/signal_rows.h"

typedef struct power_fft power_fft;

/// Makes the tables for `size` samples, a power of two of at least 8.  Never
/// returns NULL.
power_fft*
power_fft_new(uint32_t size);

void
power_fft_free(power_fft* p);

/// Transforms `size` rows.  Then |X|^2 of bin i is the row power_fft_place(i);
/// bin 0, which is not needed, and the other rows hold nothing of use.
void
power_fft_run(const power_fft* p, signal_row* x);

/// Returns the row that holds bin i, 1 to size / 2 - 1
uint32_t
power_fft_place(const power_fft* p, uint32_t bin);

#endif // PRESETS_DEMO_SESSION_MEASURE_POWER_FFT_H
