// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "tube_gain_run.h"

uint32_t
tube_gain_lanes(void)
{
#ifdef WIDE_REGISTERS
#  ifndef NO_AVX512
  if (__builtin_cpu_supports("avx512f") && __builtin_cpu_supports("avx512dq") &&
      __builtin_cpu_supports("avx512vl")) {
    return 8;
  }
#  endif
  if (__builtin_cpu_supports("avx2")) {
    return 4;
  }
#endif
  return 2;
}

void
tube_gain_process_in(uint32_t              lanes,
                     tube_gain* const*     g,
                     uint32_t              n_stages,
                     const tube_rest_ramp* rest,
                     double* const*        x,
                     uint32_t              n_channels,
                     uint32_t              n)
{
#ifdef WIDE_REGISTERS
  if (lanes > 2) {
    (lanes > 4 ? tube_gain_run_8
               : tube_gain_run_4)[n_channels - 1][n_stages - 1](g, rest, x, n);
    return;
  }
#endif
  (void)lanes;
  tube_gain_run_2(g, n_stages, rest, x, n_channels, n);
}

void
tube_gain_process(tube_gain* const*     g,
                  uint32_t              n_stages,
                  const tube_rest_ramp* rest,
                  double* const*        x,
                  uint32_t              n_channels,
                  uint32_t              n)
{
  tube_gain_process_in(tube_gain_lanes(), g, n_stages, rest, x, n_channels, n);
}
