// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// A judge of loudness from outside, libebur128 (ITU-R BS.1770), and a riff to
/// measure.  48 kHz.

#ifndef TESTS_SUPPORT_JUDGE_H
#define TESTS_SUPPORT_JUDGE_H

#include "check.h"

#include <ebur128.h>

#define JUDGE_RIFF_FRAMES (4U * 48000U)

/// Makes a four-second riff of plucks at several strengths, looped
static inline void
judge_riff(float* x, uint32_t n, double gain)
{
  static const double strength[8] = {1.0, 0.3, 0.6, 0.1, 0.8, 0.2, 0.5, 0.05};
  static const double f_hz[8]     = {82, 110, 147, 196, 98, 247, 123, 165};
  for (uint32_t i = 0; i < n; ++i) {
    const uint32_t note = i / 24000 % 8;
    const double   t    = i % 24000 / 48000.0;
    double         y    = 0.0;
    for (int h = 1; h < 9; ++h) {
      y += exp(-(2.0 + h) * t) * sin(2.0 * DSP_PI * f_hz[note] * h * t) / h;
    }
    x[i] = (float)(gain * strength[note] * y);
  }
}

/// Returns the integrated loudness of frames `from` to `to`; mono counts as one
/// of two
static inline double
judge_lufs(const float* const* x,
           uint32_t            n_channels,
           uint32_t            from,
           uint32_t            to)
{
  ebur128_state* e = ebur128_init(n_channels, 48000, EBUR128_MODE_I);
  assert_non_null(e);
  if (n_channels == 1) {
    ebur128_set_channel(e, 0, EBUR128_LEFT);
  }
  for (uint32_t i = from; i < to; ++i) {
    const float frame[] = {x[0][i], n_channels > 1 ? x[1][i] : 0.0F};
    assert_int_equal(ebur128_add_frames_float(e, frame, 1), EBUR128_SUCCESS);
  }
  double lufs = 0.0;
  assert_int_equal(ebur128_loudness_global(e, &lufs), EBUR128_SUCCESS);
  ebur128_destroy(&e);
  return lufs;
}

#endif // TESTS_SUPPORT_JUDGE_H
