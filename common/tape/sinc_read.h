// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Reads a signal between its samples, by a windowed sinc of 16 taps.
///
/// Flat to 0.001 dB up to 0.3125 of the rate (15 kHz at 48 kHz) at any
/// position, and linear in phase, so that nothing is lost however often a
/// signal goes around.  Kaiser window, beta 8: errors 81 dB down or more.  512
/// positions between two samples, and straight lines between those.  T. I.
/// Laakso et al., "Splitting the unit delay", IEEE Signal Processing Magazine
/// 13(1), 1996, from memory.

#ifndef COMMON_TAPE_SINC_READ_H
#define COMMON_TAPE_SINC_READ_H

#include "common/core/dsp.h"
#include "common/core/lanes.h"

#define SINC_TAPS   16
#define SINC_PHASES 512

/// Samples before and after the position that a read touches
#define SINC_BEFORE 7
#define SINC_BEHIND 8

/// Weights of the 16 samples from 7 before to 8 after
typedef struct {
  f32x4 lane[SINC_TAPS / 4];
} sinc_weights;

/// Weights at a position, and the step to the next
typedef struct {
  sinc_weights at, step;
} sinc_row;

/// Returns SINC_PHASES rows, built once per process.  Not real-time safe at the
/// first call.
const sinc_row*
sinc_table(void);

/// Returns the weights for a position `share` (0 to 1, 1 excluded) after a
/// sample
static inline sinc_weights
sinc_weights_at(const sinc_row* table, double share)
{
  const double          at  = share * SINC_PHASES;
  const int32_t         row = (int32_t)at;
  const float           way = (float)(at - row);
  const sinc_row* const r   = &table[row];

  sinc_weights w;
  for (uint32_t i = 0; i < SINC_TAPS / 4; ++i) {
    w.lane[i] = r->at.lane[i] + way * r->step.lane[i];
  }
  return w;
}

/// Returns four numbers that add up to the value: `x` is SINC_BEFORE samples
/// before the one that the position follows
static inline f32x4
sinc_read(const sinc_weights* w, const float* x)
{
  return (w->lane[0] * f32x4_load(x) + w->lane[1] * f32x4_load(x + 4)) +
         (w->lane[2] * f32x4_load(x + 8) + w->lane[3] * f32x4_load(x + 12));
}

/// Returns four values from the numbers of four reads
static inline f32x4
sinc_add_up(const f32x4 read[4])
{
  const f32x4 low01  = __builtin_shufflevector(read[0], read[1], 0, 4, 1, 5);
  const f32x4 low23  = __builtin_shufflevector(read[2], read[3], 0, 4, 1, 5);
  const f32x4 high01 = __builtin_shufflevector(read[0], read[1], 2, 6, 3, 7);
  const f32x4 high23 = __builtin_shufflevector(read[2], read[3], 2, 6, 3, 7);

  // Lanes 0 and 2, and 1 and 3, of reads 0 and 1, then of 2 and 3
  const f32x4 sum01 = low01 + high01;
  const f32x4 sum23 = low23 + high23;
  return __builtin_shufflevector(sum01, sum23, 0, 1, 4, 5) +
         __builtin_shufflevector(sum01, sum23, 2, 3, 6, 7);
}

#endif // COMMON_TAPE_SINC_READ_H
