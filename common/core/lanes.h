// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Several numbers in one register: the vector types of all of common/.
///
/// Named by what a lane is and how many there are.  Operators work lane by lane
/// and round as they do on single numbers, so a result does not depend on how
/// wide the registers of a machine are: a wider type is worked on in pieces.
/// Pass them to inlined functions only, because how a wide type is passed
/// depends on compiler options.  Real-time safe.

#ifndef COMMON_CORE_LANES_H
#define COMMON_CORE_LANES_H

#include <stdint.h>
#include <string.h>

typedef float  f32x4 __attribute__((vector_size(16)));
typedef float  f32x8 __attribute__((vector_size(32)));
typedef double f64x2 __attribute__((vector_size(16)));
typedef double f64x4 __attribute__((vector_size(32)));
typedef double f64x8 __attribute__((vector_size(64)));

/// For masks: a comparison of lanes of the same width gives -1 or 0
typedef int32_t i32x4 __attribute__((vector_size(16)));
typedef int64_t i64x4 __attribute__((vector_size(32)));

/// Returns the same number in all lanes
static inline f32x4
f32x4_splat(float x)
{
  return (f32x4){x, x, x, x};
}

/// Loads four floats from any address
static inline f32x4
f32x4_load(const float* x)
{
  f32x4 v;
  memcpy(&v, x, sizeof(v));
  return v;
}

/// Stores four floats at any address
static inline void
f32x4_store(float* x, f32x4 v)
{
  memcpy(x, &v, sizeof(v));
}

/// Adds all lanes, in this order on every machine
static inline float
f32x4_sum(f32x4 v)
{
  return (v[0] + v[1]) + (v[2] + v[3]);
}

#endif // COMMON_CORE_LANES_H
