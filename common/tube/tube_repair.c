// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "tube_repair.h"

#include "common/core/fastmath.h"

#include <string.h>

uint32_t
tube_repair_delay(uint32_t n_stages)
{
  // Half a sample per stage; two for the filter, and half for another mean
  return 2 + (n_stages + 1) / 2;
}

tube_repair
tube_repair_make(uint32_t n_stages, uint32_t fill)
{
  static const double series[3][3] = {
    {1.0, 1.0, 1.0}, // 1 / (1 - x), which is 1 / cos^2
    {1.0, 1.0, 1.0},
    {1.0, 2.0, 3.0}, // 1 / (1 - x)^2
  };
  const double* const c      = series[n_stages - 1];
  const bool          is_odd = n_stages % 2 != 0;

  // x is (-1, 2, -1) / 4, x^2 is (1, -4, 6, -4, 1) / 16
  const double outer  = c[2] / 16.0;
  const double inner  = -0.25 * (c[1] + c[2]);
  const double sum[6] = {outer, inner, c[0] + 0.5 * c[1] + 0.375 * c[2],
                         inner, outer, 0.0};

  tube_repair r = {.fill = fill};
  for (uint32_t i = 0; i < TUBE_REPAIR_TAPS; ++i) {
    const double before = i > 0 ? sum[i - 1] : 0.0;
    r.taps[i]           = (float)(is_odd ? -0.5 * (sum[i] + before) : sum[i]);
  }
  return r;
}

WIDE_CLONES static void
process(const tube_repair*  r,
        tube_repair_memory* memory,
        const double*       in,
        float*              out,
        uint32_t            n)
{
  enum { before = TUBE_REPAIR_TAPS + TUBE_REPAIR_FILL };
  float line[before + OVERSAMPLE_MAX_SAMPLES];
  memcpy(line, memory->line, sizeof(memory->line));
  for (uint32_t i = 0; i < n; ++i) {
    line[before + i] = (float)in[i];
  }

  const float* const now = line + before - r->fill;
  for (uint32_t i = 0; i < n; ++i) {
    float sum = r->taps[0] * now[i];
#pragma GCC unroll 6
    for (int32_t k = 1; k < TUBE_REPAIR_TAPS; ++k) {
      sum += r->taps[k] * now[(int32_t)i - k];
    }
    out[i] = sum;
  }
  memcpy(memory->line, line + n, sizeof(memory->line));
}

void
tube_repair_process(const tube_repair*  r,
                    tube_repair_memory* memory,
                    const double*       in,
                    float*              out,
                    uint32_t            n)
{
  process(r, memory, in, out, n);
}
