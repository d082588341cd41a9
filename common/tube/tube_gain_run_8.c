// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Eight lanes, two groups: AVX-512

#include "tube_gain_run.h"

#ifdef WIDE_REGISTERS

#  define AVX512 "avx512f,avx512dq"
#  define INLINE static inline __attribute__((always_inline, target(AVX512)))
#  define LANES  8
#  include "tube_gain_pipeline.h"

// clang-format off: it takes a name with brackets for the start of a function
TUBE_AT_ONCE(run_2_1, AVX512, 2, 1)
TUBE_AT_ONCE(run_3_1, AVX512, 3, 1)
TUBE_AT_ONCE(run_1_2, AVX512, 1, 2)
TUBE_AT_ONCE(run_2_2, AVX512, 2, 2)
TUBE_AT_ONCE(run_3_2, AVX512, 3, 2)
// clang-format on

const tube_gain_run tube_gain_run_8[TUBE_CHANNELS_MAX][TUBE_STAGES_MAX] = {
  // One stream alone would leave half of each register idle
  {tube_gain_run_4_of_32, run_2_1, run_3_1},
  {run_1_2, run_2_2, run_3_2},
};

#endif
