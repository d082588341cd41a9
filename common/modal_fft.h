// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Discrete Fourier transform of 512 complex points, in place.
///
/// Four transforms of 128 points run side by side in the lanes of a register;
/// one more step of radix 4 joins them.  Autosort passes as in P. N.
/// Swarztrauber, "FFT algorithms for vector computers", Parallel Computing 1
/// (1984).  Rounding: about -140 dB of the largest point.  Real-time safe.

#ifndef COMMON_MODAL_FFT_H
#define COMMON_MODAL_FFT_H

#include "common/core/dsp.h"

#define MODAL_FFT_SIZE 512

typedef struct {
  float re[MODAL_FFT_SIZE], im[MODAL_FFT_SIZE];
} modal_spectrum;

/// exp(-2 pi i k / 512)
typedef struct {
  float re[MODAL_FFT_SIZE], im[MODAL_FFT_SIZE];
} modal_fft;

void
modal_fft_init(modal_fft* f);

/// X[p] = sum over t of x[t] exp(-2 pi i p t / 512)
void
modal_fft_forward(const modal_fft* f, modal_spectrum* x);

/// x[t] = sum over p of X[p] exp(+2 pi i p t / 512): not divided by 512
void
modal_fft_backward(const modal_fft* f, modal_spectrum* x);

#endif // COMMON_MODAL_FFT_H
