// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Filters of a cascade whose coefficients move in every frame.  Part of svf.c.
/// Real-time safe.

#ifndef COMMON_FILTERS_SVF_MOVING_H
#define COMMON_FILTERS_SVF_MOVING_H

#include "svf.h"

/// Runs the first filter of `f`, which moves, and up to three after it if those
/// move as well, in place; returns how many.  `n` is 1 to CONTROL_FRAMES.
uint32_t
svf_run_moving(svf*     f,
               uint32_t n_filters,
               f64x2*   x,
               uint32_t n_channels,
               uint32_t n);

#endif // COMMON_FILTERS_SVF_MOVING_H
