// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Any frequency, damped or not, from seven neighbours on a grid.
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
/// least-squares solution over the block, whose error is -130 dB of the
/// oscillation's peak (RMS over the block, computed; -127 dB at a loss of 1 dB
/// in 256 frames, -96 dB at 48 dB).
///
/// Least-squares interpolation between nodes: J. A. Fessler, B. P. Sutton,
/// "Nonuniform Fast Fourier Transforms Using Min-Max Interpolation", IEEE
/// Trans. Signal Processing 51(2), 2003, with a Kaiser-Bessel window; losses
/// that share their matrix: our own.

#ifndef COMMON_PLATE_PLATE_GRID_H
#define COMMON_PLATE_PLATE_GRID_H

#include "common/core/dsp.h"

#define PLATE_GRID_BLOCK 256
#define PLATE_GRID_SIZE  512

/// Neighbours, and the way from the first of them to the nearest
#define PLATE_GRID_TAPS  7
#define PLATE_GRID_REACH 3

/// Terms of the Chebyshev series of c(x), and of the power series of D(s)
#define PLATE_GRID_SERIES 14
#define PLATE_GRID_POWERS 11

/// Real or imaginary part of a matrix by columns, 8 rows each, the last of
/// which is 0
typedef float plate_grid_part[PLATE_GRID_TAPS][8];

typedef struct {
  float  window[PLATE_GRID_BLOCK];     ///< From t = -128 on
  double series[PLATE_GRID_SERIES][8]; ///< By tap; the last is 0

  /// D is the sum over k of (s / theta)^k power[k]: real for even k, imaginary
  /// for odd ones.  By columns and, transposed, by rows.
  plate_grid_part spread[PLATE_GRID_POWERS], gather[PLATE_GRID_POWERS];
} plate_grid;

/// A complex matrix
typedef struct {
  plate_grid_part re, im;
} plate_grid_matrix;

/// Computes the tables; takes about a millisecond
void
plate_grid_init(plate_grid* g);

/// Writes the weights of an oscillation `x` beside the nearest node, -0.5 to
/// 0.5; the last is 0
void
plate_grid_weights(const plate_grid* g, double x, double c[8]);

/// Writes D of a loss in nepers per frame, with which a mode is spread over the
/// nodes.  Real-time safe.
void
plate_grid_spread(const plate_grid* g, double loss, plate_grid_matrix* m);

/// Writes gain times D transposed, with which a mode gathers its input from the
/// nodes.  Real-time safe.
void
plate_grid_gather(const plate_grid*  g,
                  double             loss,
                  double             gain,
                  plate_grid_matrix* m);

#endif // COMMON_PLATE_PLATE_GRID_H
