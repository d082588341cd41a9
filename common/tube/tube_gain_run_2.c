// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Two lanes, which any processor has

#define INLINE static inline __attribute__((always_inline))
#define LANES  2
#include "tube_gain_pipeline.h"

void
tube_gain_run_2(tube_gain* const*     g,
                uint32_t              n_stages,
                const tube_rest_ramp* rest,
                double* const*        x,
                uint32_t              n_channels,
                uint32_t              n)
{
  for (uint32_t s = 0; s < n_stages; ++s) {
    for (uint32_t c = 0; c < n_channels; ++c) {
      run_streams(g + c, rest, x + c, n, s, 1, 1);
    }
  }
}
