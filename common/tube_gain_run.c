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
#include "tube_gain_pipeline.h"
#undef LANES
#undef NAME

#define LANES   4
#define NAME(x) x##_4
#include "tube_gain_pipeline.h"
#undef LANES
#undef NAME

/// `size` as a constant
#define FOR_SIZE(size, run)   \
  do {                        \
    if ((size) == 1) {        \
      run(1);                 \
    } else if ((size) == 2) { \
      run(2);                 \
    } else {                  \
      run(4);                 \
    }                         \
  } while (0)

void
tube_gain_process_plain(tube_gain* const*     g,
                        uint32_t              n_stages,
                        const tube_rest_ramp* rest,
                        double* const*        x,
                        uint32_t              n_channels,
                        uint32_t              n)
{
#define RUN(size) run_plainly_2(g, rest, x, n, size, n_stages, n_channels)
  FOR_SIZE(g[0]->group, RUN);
#undef RUN
}

#if defined(__x86_64__) && !defined(NO_WIDE_REGISTERS)
#  define WIDE(name, n_stages, n_channels)                               \
    __attribute__((target("avx2"))) static void name(                    \
      tube_gain* const* g, const tube_rest_ramp* rest, double* const* x, \
      uint32_t n) NONBLOCKING                                            \
    {                                                                    \
      run_pipeline_4(g, rest, x, n, 4, n_stages, n_channels);            \
    }

// clang-format off: it takes a name with brackets for the start of a function
WIDE(wide_1_1, 1, 1)
WIDE(wide_2_1, 2, 1)
WIDE(wide_3_1, 3, 1)
WIDE(wide_1_2, 1, 2)
WIDE(wide_2_2, 2, 2)
WIDE(wide_3_2, 3, 2)
#  undef WIDE

__attribute__((target("avx2"))) static void
wide_few(tube_gain* const*     g,
         uint32_t              n_stages,
         const tube_rest_ramp* rest,
         double* const*        x,
         uint32_t              n_channels,
         uint32_t              n)
// clang-format on
{
#  define RUN(size) run_plainly_4(g, rest, x, n, size, n_stages, n_channels)
  FOR_SIZE(g[0]->group, RUN);
#  undef RUN
}

static void
process_wide(tube_gain* const*     g,
             uint32_t              n_stages,
             const tube_rest_ramp* rest,
             double* const*        x,
             uint32_t              n_channels,
             uint32_t              n)
{
  typedef void (*pipeline)(tube_gain* const*, const tube_rest_ramp*,
                           double* const*, uint32_t) NONBLOCKING;
  static const pipeline all[TUBE_CHANNELS_MAX][TUBE_STAGES_MAX] = {
    {wide_1_1, wide_2_1, wide_3_1},
    {wide_1_2, wide_2_2, wide_3_2},
  };
  if (g[0]->group == TUBE_GROUP_MAX) {
    all[n_channels - 1][n_stages - 1](g, rest, x, n);
  } else {
    wide_few(g, n_stages, rest, x, n_channels, n);
  }
}
#endif

void
tube_gain_process(tube_gain* const*     g,
                  uint32_t              n_stages,
                  const tube_rest_ramp* rest,
                  double* const*        x,
                  uint32_t              n_channels,
                  uint32_t              n)
{
#if defined(__x86_64__) && !defined(NO_WIDE_REGISTERS)
  if (__builtin_cpu_supports("avx2")) {
    process_wide(g, n_stages, rest, x, n_channels, n);
    return;
  }
#endif
  tube_gain_process_plain(g, n_stages, rest, x, n_channels, n);
}
