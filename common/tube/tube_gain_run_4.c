// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Four lanes, a group: AVX2

#include "tube_gain_run.h"

#ifdef WIDE_REGISTERS

#  define INLINE static inline __attribute__((always_inline, target("avx2")))
#  define LANES  4
#  include "tube_gain_pipeline.h"

// clang-format off: it takes a name with brackets for the start of a function
TUBE_AT_ONCE(run_1_1, "avx2", 1, 1)
TUBE_AT_ONCE(run_2_1, "avx2", 2, 1)
TUBE_AT_ONCE(run_3_1, "avx2", 3, 1)
TUBE_AT_ONCE(run_1_2, "avx2", 1, 2)
TUBE_AT_ONCE(run_2_2, "avx2", 2, 2)
TUBE_AT_ONCE(run_3_2, "avx2", 3, 2)
// clang-format on

const tube_gain_run tube_gain_run_4[TUBE_CHANNELS_MAX][TUBE_STAGES_MAX] = {
  {run_1_1, run_2_1, run_3_1},
  {run_1_2, run_2_2, run_3_2},
};

__attribute__((target("avx512f,avx512dq,avx512vl"))) void
tube_gain_run_4_of_32(tube_gain* const*     g,
                      const tube_rest_ramp* rest,
                      double* const*        x,
                      uint32_t              n)
{
  run_streams(g, rest, x, n, 0, 1, 1);
}

#endif
