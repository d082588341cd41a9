// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// The output of the compressor from the gain of its cell, in plain steps: the
/// input by the mean gain, and what the ripple of the gain and the edge add,
/// high-passed (held by test_under_the_hearing.c)

#ifndef TESTS_STAGES_COMPRESSOR_JUDGE_H
#define TESTS_STAGES_COMPRESSOR_JUDGE_H

#include "common/core/glide.h"
#include "common/filters/infra_cut.h"

/// `gain`: of the cell, at the input; `edge`: what the edge adds to each frame
/// of the input (NULL: nothing); want[i] is frame i of the output
static inline void
compressor_judge(const float*  in,
                 const double* gain,
                 const double* edge,
                 double        dry,
                 double        wet,
                 uint32_t      latency,
                 double        rate_hz,
                 double*       want,
                 uint32_t      n)
{
  const double     share = one_pole_share(0.040, rate_hz / CONTROL_FRAMES);
  double           mean  = 1.0;
  double           slow  = 1.0;
  ramp             r     = {0};
  infra_cut        c;
  infra_cut_memory m = {.n = 0};
  infra_cut_init(&c, 62.0, rate_hz);
  ramp_snap(&r, 1.0);
  for (uint32_t i = 0; i < n; ++i) {
    if (i % CONTROL_FRAMES == 0) {
      mean += share * ((i ? gain[i - 1] : 1.0) - mean);
      slow += share * (mean - slow);
      (void)ramp_push(&r, slow);
    }
    float now = 0.0F;
    ramp_values(&r, &now, 1);
    const bool     is_in = i >= latency;
    const uint32_t at    = is_in ? i - latency : 0;
    const double   x     = is_in ? (double)in[at] : 0.0;
    const double   more  = is_in && edge ? edge[at] : 0.0;
    const float    added = (float)(wet * (gain[at] - (double)now) * x + more);
    float          cut   = 0.0F;
    infra_cut_run(&c, &m, &added, &cut, 1);
    want[i] = x * (dry + wet * (double)now) + (double)cut;
  }
}

#endif // TESTS_STAGES_COMPRESSOR_JUDGE_H
