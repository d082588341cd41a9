// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "cabinet_sections.h"

#include "cabinet_row.h"
#include "common/core/fastmath.h"

#define INLINE static inline __attribute__((always_inline))

/// Runs a frame of section s
INLINE f64x2
run_section(const cabinet_filters* f, f64x2 (*m)[2], int s, f64x2 x)
{
  const f64x2 y = f->of[CABINET_B0][s] * x + m[s][0];
  m[s][0] = (f->of[CABINET_B1][s] * x + m[s][1]) - f->of[CABINET_A1][s] * y;
  const f64x2 back = f->of[CABINET_A2][s] * y;
  // A low-pass has no b2
  m[s][1] = s < CABINET_LOW_PASS_1 ? f->of[CABINET_B2][s] * x - back : -back;
  return y;
}

INLINE void
step_filters(cabinet* c, int from)
{
  for (int i = 0; i < CABINET_N; ++i) {
    for (int s = from; s < CABINET_SECTIONS; ++s) {
      c->now.of[i][s] += c->step.of[i][s];
    }
  }
}

static f64x2
run_frame(const cabinet* c, f64x2 (*m)[2], f64x2 x)
{
  for (int s = 0; s < CABINET_SECTIONS; ++s) {
    const f64x2 y = run_section(&c->now, m, s, x);
    x             = s == CABINET_PRESENCE ? x + c->share * (y - x) : y;
  }
  return x;
}

static void
run_in_turn(cabinet* c, f64x2* x, uint32_t n)
{
  const int moving =
    c->microphone_moves ? CABINET_MICROPHONE : CABINET_LOW_PASS_1;
  f64x2 m[CABINET_SECTIONS][2];
  for (int s = 0; s < CABINET_SECTIONS; ++s) {
    for (int i = 0; i < 2; ++i) {
      m[s][i] = (f64x2){c->memory[i][0][s], c->memory[i][1][s]};
    }
  }
  for (uint32_t i = 0; i < n; ++i) {
    x[i] = run_frame(c, m, x[i]);
    c->share += c->share_step;
    step_filters(c, moving);
  }
  for (int s = 0; s < CABINET_SECTIONS; ++s) {
    for (int i = 0; i < 2; ++i) {
      c->memory[i][0][s] = m[s][i][0];
      c->memory[i][1][s] = m[s][i][1];
    }
  }
}

void
cabinet_run_sections(cabinet*            c,
                     const float* const* in,
                     float* const*       out,
                     uint32_t            n_channels,
                     uint32_t            n)
{
  if (c->microphone_moves || n < cabinet_row_least(n_channels) ||
      !wide_clones_run()) {
    f64x2 x[CONTROL_FRAMES];
    svf_load(in, x, n_channels, n);
    run_in_turn(c, x, n);
    svf_store(x, out, n_channels, n);
  } else {
    cabinet_row_run(c, in, out, n_channels, n);
  }
}
