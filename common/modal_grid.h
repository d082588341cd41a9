// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Any frequency, damped or not, out of seven neighbours on a grid.
///
/// Within a block of 256 frames, t frames from its middle, an oscillation that
/// lies x of a grid step (1/512 of the rate) beside node j and loses s nepers
/// per frame is
///
///   exp(i (j + x) theta t - s t)
///     = window(t) sum over p, q of D_pq(s) c_q(x) exp(i (j + p) theta t)
///
/// with theta = 2 pi / 512 and p, q from -3 to 3.  The weights c are real and
/// belong to a mode; the matrix D belongs to a loss, and many modes share it;
/// the sums over nodes of many modes are one Fourier transform.  Both are the
/// least-squares solution over the block, which is out by -130 dB of the
/// oscillation's peak (RMS over the block, computed; -127 dB at a loss of 1 dB
/// in 256 frames, -96 dB at 48 dB).
///
/// Least-squares interpolation between nodes: J. A. Fessler, B. P. Sutton,
/// "Nonuniform Fast Fourier Transforms Using Min-Max Interpolation", IEEE
/// Trans. Signal Processing 51(2), 2003, with a Kaiser-Bessel window; losses
/// that share their matrix: our own.

#ifndef COMMON_MODAL_GRID_H
#define COMMON_MODAL_GRID_H

#include "common/core/dsp.h"

#define MODAL_BLOCK 256
#define MODAL_GRID  512

/// Neighbours, and the way from the first of them to the nearest
#define MODAL_TAPS  7
#define MODAL_REACH 3

/// Terms of the Chebyshev series of c(x), and of the power series of D(s)
#define MODAL_SERIES 14
#define MODAL_POWERS 11

/// Real or imaginary part of a matrix by columns, 8 rows each of which the last
/// is 0
typedef float modal_part[MODAL_TAPS][8];

typedef struct {
  float  window[MODAL_BLOCK];     ///< From t = -128 on
  double series[MODAL_SERIES][8]; ///< By tap; the last is 0

  /// D is the sum over k of (s / theta)^k power[k]: real for even k, imaginary
  /// for odd ones.  By columns and, transposed, by rows.
  modal_part spread[MODAL_POWERS], gather[MODAL_POWERS];
} modal_grid;

/// A complex matrix
typedef struct {
  modal_part re, im;
} modal_matrix;

/// About a millisecond
void
modal_grid_init(modal_grid* g);

/// Weights of an oscillation `x` beside the nearest node, -0.5 to 0.5; the last
/// is 0
void
modal_grid_weights(const modal_grid* g, double x, double c[8]);

/// D of a loss in nepers per frame, with which a mode is spread over the nodes.
/// Real-time safe.
void
modal_grid_spread(const modal_grid* g, double loss, modal_matrix* m);

/// gain times D transposed, with which a mode gathers from the nodes what a
/// signal puts into it.  Real-time safe.
void
modal_grid_gather(const modal_grid* g,
                  double            loss,
                  double            gain,
                  modal_matrix*     m);

#endif // COMMON_MODAL_GRID_H
