// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Takes away what lies below 20 Hz, and nothing from 80 Hz up.
///
/// A fourth-order high-pass with two zeros at 0 Hz, where offsets are, and a
/// pair between there and the edge (generalised Chebyshev: R. J. Cameron,
/// "Fast generation of Chebyshev filter prototypes with asymmetrically
/// prescribed transmission zeros", ESA Journal 6, 1982).  Relative to its edge:
/// within 0.03 dB of 1 above it, at least 49 dB down from 0.303 of it on.  At
/// 80 Hz it turns the phase by a quarter of a circle, so it belongs on the
/// whole signal, or on what is no part of the linear one.
///
/// Four frames at a time: the states are carried over four frames at once, and
/// none waits for another within them.  A group that a block cuts is finished
/// by the next one, so that it does not matter how blocks are cut.  Double, for
/// the sake of high rates.  Real-time safe.

#ifndef COMMON_FILTERS_INFRA_CUT_H
#define COMMON_FILTERS_INFRA_CUT_H

#include "common/core/dsp.h"

/// Edge for stages that distort: at least 44 dB down from 20 Hz on, 1.2 dB at
/// 50 Hz
#define INFRA_CUT_EDGE_HZ 62.0

/// Coefficients: what each of the four states, and each of the four frames,
/// adds to the four outputs and to the next states
typedef struct {
  double out_by_state[4][4], out_by_frame[4][4];
  double state_by_state[4][4], state_by_frame[4][4];
} infra_cut;

/// Memory of one channel: the states, and the frames of a group that is not
/// complete
typedef struct {
  double   state[4], frame[4];
  uint32_t n;
} infra_cut_memory;

void
infra_cut_init(infra_cut* c, double edge_hz, double rate_hz);

/// Filters `n` frames; out may be in
void
infra_cut_run(const infra_cut*  c,
              infra_cut_memory* memory,
              const float*      in,
              float*            out,
              uint32_t          n);

/// Filters `n` frames in place by a share of 0 (not at all) to 1, per frame.
/// The filter itself runs on, whatever the share.
void
infra_cut_run_by(const infra_cut*  c,
                 infra_cut_memory* memory,
                 const float*      share,
                 float*            x,
                 uint32_t          n);

#endif // COMMON_FILTERS_INFRA_CUT_H
