// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Discrete Fourier transform of 512 complex points, in place.
///
/// Four transforms of 128 points run side by side in the lanes of a register;
/// one more step of radix 4 joins them.  Autosort passes as in P. N.
/// Swarztrauber, "FFT algorithms for vector computers", Parallel Computing 1
/// (1984).  Rounding: about -140 dB of the largest point.  Real-time safe.

#ifndef COMMON_PLATE_PLATE_FFT_H
#define COMMON_PLATE_PLATE_FFT_H

#include "common/core/dsp.h"

#define PLATE_FFT_SIZE 512

typedef struct {
  float re[PLATE_FFT_SIZE], im[PLATE_FFT_SIZE];
} plate_spectrum;

/// exp(-2 pi i k / 512)
typedef struct {
  float re[PLATE_FFT_SIZE], im[PLATE_FFT_SIZE];
} plate_fft;

void
plate_fft_init(plate_fft* f);

/// Computes X[p] = sum over t of x[t] exp(-2 pi i p t / 512)
void
plate_fft_forward(const plate_fft* f, plate_spectrum* x);

/// Computes x[t] = sum over p of X[p] exp(+2 pi i p t / 512): not divided by
/// 512
void
plate_fft_backward(const plate_fft* f, plate_spectrum* x);

#endif // COMMON_PLATE_PLATE_FFT_H
