// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Private to plate_modes*.c: what they share

#ifndef COMMON_PLATE_PLATE_MODES_PARTS_H
#define COMMON_PLATE_PLATE_MODES_PARTS_H

#include "plate_modes.h"

#include <string.h>

/// Sorts the modes of `list` into bands and groups.  False if there are too
/// many.
bool
plate_modes_build(plate_modes* b, plate_mode_list list);

/// Forgets former losses of `band`: it has always decayed by `decay`
void
plate_modes_settle_band(const plate_modes* b,
                        plate_modes_band*  band,
                        const plate_decay* decay);

/// Lets `band` decay by `decay` in the next block, before it is run for it, and
/// adds its modes' response to an impulse then to `head`
void
plate_modes_renew_band(plate_modes*       b,
                       plate_modes_band*  band,
                       const plate_decay* decay);

/// Turns the modes of `band` by a block, with the input in `gathered`, and adds
/// their output to `spread`
void
plate_modes_run_band(plate_modes* b, const plate_modes_band* band);

/// Transforms the last whole block of `history` into values at the nodes ...
void
plate_modes_analyse(const plate_modes* b, plate_modes_nodes* nodes);

/// ... and those into a block of each output, one value every `stride` floats
void
plate_modes_synthesise(const plate_modes*       b,
                       const plate_modes_nodes* nodes,
                       float*                   left,
                       float*                   right,
                       size_t                   stride);

/// Parts of `new_kernel`: input and half of the head
enum { PLATE_MODES_KERNEL_PARTS = 2 * PLATE_MODES_INPUTS };

/// Makes one part of `new_kernel` from `head`
void
plate_modes_make_kernel(plate_modes* b, size_t part);

/// Filters the inputs of this and the last block by the kernel, `n` frames from
/// `at` on, which are in `history`
void
plate_modes_filter(const plate_modes* b, float* left, float* right, uint32_t n);

#endif // COMMON_PLATE_PLATE_MODES_PARTS_H
