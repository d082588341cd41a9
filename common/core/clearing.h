// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Clears the large memory of a state in pieces of equal size, so that no block
/// has to do it all.  Real-time safe.

#ifndef COMMON_CORE_CLEARING_H
#define COMMON_CORE_CLEARING_H

#include "dsp.h"

#include <stddef.h>

/// A part of a state's memory
typedef struct {
  void*  at;
  size_t size; ///< In bytes
} memory_part;

/// Writes part `i` of the memory of state `s`, or returns false beyond the last
typedef bool (*memory_parts)(void*        s,
                             uint32_t     i,
                             memory_part* part) NONBLOCKING;

typedef struct {
  uint32_t part;  ///< Being cleared
  size_t   at;    ///< Where in it
  size_t   piece; ///< Bytes of a step
} clearing;

/// Begins to clear `parts` (NULL: none) of `s` within `n_steps`
void
clearing_begin(clearing* c, memory_parts parts, void* s, uint32_t n_steps);

/// Clears the next piece
void
clearing_step(clearing* c, memory_parts parts, void* s);

#endif // COMMON_CORE_CLEARING_H
