// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Inside the modal bank: what its sources share

#ifndef COMMON_MODAL_PARTS_H
#define COMMON_MODAL_PARTS_H

#include "modal.h"

#include <string.h>

static inline modal_lanes
modal_load(const float* x)
{
  modal_lanes v;
  memcpy(&v, x, sizeof(v));
  return v;
}

static inline modal_lanes
modal_all(float x)
{
  return (modal_lanes){x, x, x, x};
}

/// Sort the modes of `list` into bands and groups.  False if there are too
/// many.
bool
modal_build(modal* b, modal_list list);

/// Forget former losses of `band`: it has always decayed by `decay`
void
modal_settle_band(const modal* b, modal_band* band, const modal_decay* decay);

/// Let `band` decay by `decay` in the next block, before it is run for it, and
/// add what its modes answer to an impulse then to `head`
void
modal_renew_band(modal* b, modal_band* band, const modal_decay* decay);

/// Turn the modes of `band` by a block, with what `gathered` puts into them,
/// and add what they put out to `spread`
void
modal_run_band(modal* b, const modal_band* band);

/// From the last whole block of `history` to values at the nodes ...
void
modal_analyse(const modal* b, modal_nodes* nodes);

/// ... and from them to `n` values of each output, one each `stride` floats
void
modal_synthesise(const modal*       b,
                 const modal_nodes* nodes,
                 float*             left,
                 float*             right,
                 size_t             stride);

/// Parts of `new_kernel`: input and half of the head
enum { MODAL_KERNEL_PARTS = 2 * MODAL_INPUTS };

/// One part of `new_kernel`, of `head`
void
modal_make_kernel(modal* b, size_t part);

/// The inputs of this and the last block through the kernel, `n` frames from
/// `at` on, which are in `history`
void
modal_filter(const modal* b, float* left, float* right, uint32_t n);

#endif // COMMON_MODAL_PARTS_H
