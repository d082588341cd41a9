// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Filters in series that move, side by side in one register.  Part of
/// svf_moving.c.

#ifndef COMMON_FILTERS_SVF_ROW_H
#define COMMON_FILTERS_SVF_ROW_H

#include "svf.h"

/// Runs four filters on one channel, in place; `n` is 4 to CONTROL_FRAMES
void
svf_row_run_four(svf* f, f64x2* x, uint32_t n);

/// Runs two filters on both channels (in mono the second is unused), in place;
/// `n` is 2 to CONTROL_FRAMES
void
svf_row_run_two(svf* f, f64x2* x, uint32_t n);

#endif // COMMON_FILTERS_SVF_ROW_H
