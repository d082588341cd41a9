// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// The resonator in the loop against the band-pass that it stands for,
/// 1 / (1 + j Q (f/f0 - f0/f)) with Q 1.5 (common/speaker/breakup.h): by what
/// the loop makes of small signals

#include "tests/support/check.h"

#include "common/speaker/breakup.h"

#include <complex.h>

#define F0_HZ    2600.0
#define FEEDBACK 0.5
#define PEAK     1e-3
#define Q        1.5

static float wave[96000 * 8];

/// Gain of the loop with its phase
static double complex
loop_gain(double f_hz, double rate_hz, uint32_t quality)
{
  static breakup b;
  const uint32_t factor   = oversample_factor(quality, rate_hz);
  const double   inner_hz = factor * rate_hz;
  const uint32_t frames   = (uint32_t)(0.4 * rate_hz);
  const uint32_t n        = frames * factor;
  breakup_init(&b, factor, rate_hz);
  breakup_set_resonance(&b, F0_HZ);
  breakup_snap(&b, 0.0);
  check_sine(wave, n, f_hz, PEAK, inner_hz);
  float moves[4][CONTROL_FRAMES + 1];
  for (uint32_t i = 0; i <= CONTROL_FRAMES; ++i) {
    moves[0][i] = 1.0F;
    moves[1][i] = 0.0F;
    moves[2][i] = 1.0F;
    moves[3][i] = (float)FEEDBACK;
  }
  const breakup_moves m = {moves[0] + 1, moves[1] + 1, moves[2] + 1,
                           moves[3] + 1};
  for (uint32_t at = 0; at < frames; at += CONTROL_FRAMES) {
    float* const x = wave + (size_t)at * factor;
    breakup_push(&b, 0.0);
    breakup_process(&b, &m, &x, 1,
                    frames - at < CONTROL_FRAMES ? frames - at
                                                 : CONTROL_FRAMES);
  }
  double complex sum = 0.0;
  for (uint32_t i = n / 2; i < n; ++i) {
    const double phase = 2.0 * DSP_PI * f_hz * i / inner_hz;
    sum += (double)wave[i] * cexp(-phase * (double complex)_Complex_I);
  }
  // Of a sine: 1 is -j / 2
  return sum * 2.0 * (double complex)_Complex_I / (0.5 * n) / PEAK;
}

/// 1 / H as the loop has it.  y = average(x + feedback H y): the saturator's
/// average of two samples is outside of H, whose design makes up for it.
static double complex
inverse(double f_hz, double rate_hz, uint32_t quality)
{
  const double         inner_hz = oversample_factor(quality, rate_hz) * rate_hz;
  const double         w        = 2.0 * DSP_PI * f_hz / inner_hz;
  const double complex average =
    cos(0.5 * w) * cexp(-0.5 * w * (double complex)_Complex_I);
  return FEEDBACK / (1.0 - average / loop_gain(f_hz, rate_hz, quality));
}

static void
test_band_pass(void** state)
{
  (void)state;
  // The design agrees with it at f0 in gain, phase and the slope of both.  The
  // slope is Q: its mean over 130 Hz to either side, where what bends cancels.
  static const double rates_hz[] = {44100.0, 48000.0, 96000.0, 192000.0};
  for (uint32_t k = 0; k < 12; ++k) {
    const double         rate_hz = rates_hz[k / 3];
    const double         below   = F0_HZ - 130.0;
    const double         above   = F0_HZ * F0_HZ / below;
    const double         off     = above / F0_HZ - F0_HZ / above;
    const double complex low     = inverse(below, rate_hz, k % 3);
    const double complex high    = inverse(above, rate_hz, k % 3);
    const double         q       = 0.5 * (cimag(high) - cimag(low)) / off;
    print_message("# %.0f Hz, %u: Q %.4f\n", rate_hz, k % 3, q);
    assert_near(q, Q, 0.01 * Q);
    assert_near(creal(low), 1.0, 0.01);
    assert_near(creal(high), 1.0, 0.01);
  }
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_band_pass),
  };
  return cmocka_run_group_tests_name("breakup_resonator", tests, NULL, NULL);
}
