// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "tube_gain.h"

#include <string.h>

// Vectors are arguments of functions that are always inlined: how they would be
// passed does not matter
#pragma GCC diagnostic ignored "-Wpsabi"

#define INLINE static inline __attribute__((always_inline))

// Below this motion of the grid the quotient of differences gives way to the
// value: rounding in it would exceed 1e-10 A
#define MIN_MOTION_V 1e-7

typedef double pair __attribute__((vector_size(16), may_alias));
typedef double pair_at_8
  __attribute__((vector_size(16), may_alias, aligned(8)));

#define LANES   2
#define NAME(x) x##_2
#include "tube_gain_group.h"
#undef LANES
#undef NAME

#define LANES   4
#define NAME(x) x##_4
#include "tube_gain_group.h"
#undef LANES
#undef NAME

void
tube_gain_process_plain(tube_gain*            g,
                        uint32_t              n_stages,
                        const tube_rest_ramp* rest,
                        uint32_t              group,
                        double*               x,
                        uint32_t              n)
{
  run_2(g, n_stages, rest, x, n, group);
}

#if defined(__x86_64__)
__attribute__((target("avx2"))) static void
process_wide(tube_gain*            g,
             uint32_t              n_stages,
             const tube_rest_ramp* rest,
             uint32_t              group,
             double*               x,
             uint32_t              n)
{
  run_4(g, n_stages, rest, x, n, group);
}
#endif

void
tube_gain_process(tube_gain*            g,
                  uint32_t              n_stages,
                  const tube_rest_ramp* rest,
                  uint32_t              group,
                  double*               x,
                  uint32_t              n)
{
#if defined(__x86_64__)
  if (__builtin_cpu_supports("avx2")) {
    process_wide(g, n_stages, rest, group, x, n);
    return;
  }
#endif
  tube_gain_process_plain(g, n_stages, rest, group, x, n);
}
