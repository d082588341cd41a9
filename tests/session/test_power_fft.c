// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Eight power spectra at once against kissfft, one at a time, and against what
/// a transform must do

#include "tests/support/check.h"

#include "presets-demo/session/measure/power_fft.h"

#include <kiss_fftr.h>

#define MAX_SIZE 65536U

static float  rows[MAX_SIZE][ROW_LANES];
static double want[MAX_SIZE / 2][ROW_LANES];

/// Fills each lane with other noise, and its spectrum by kissfft
static double
fill(uint32_t size)
{
  static float        one[MAX_SIZE];
  static kiss_fft_cpx bins[MAX_SIZE / 2 + 1];
  kiss_fftr_cfg       fft  = kiss_fftr_alloc((int)size, 0, NULL, NULL);
  double              mean = 0.0;
  assert_non_null(fft);
  for (uint32_t k = 0; k < ROW_LANES; ++k) {
    uint32_t seed = k + 1;
    for (uint32_t i = 0; i < size; ++i) {
      one[i]     = check_noise(&seed);
      rows[i][k] = one[i];
    }
    kiss_fftr(fft, one, bins);
    for (uint32_t i = 1; i < size / 2; ++i) {
      want[i][k] = (double)bins[i].r * (double)bins[i].r +
                   (double)bins[i].i * (double)bins[i].i;
      mean += want[i][k] / (ROW_LANES * (0.5 * size - 1.0));
    }
  }
  kiss_fftr_free(fft);
  return mean;
}

/// All sizes that a rate may need and those below, whatever the last step
static void
is_that_of_kissfft(void** state)
{
  (void)state;
  for (uint32_t size = 8; size <= MAX_SIZE; size *= 2) {
    const double     mean = fill(size);
    power_fft* const p    = power_fft_new(size);
    power_fft_run(p, (signal_row*)(void*)rows);
    for (uint32_t i = 1; i < size / 2; ++i) {
      const float* const row = rows[power_fft_place(p, i)];
      for (uint32_t k = 0; k < ROW_LANES; ++k) {
        assert_near((double)row[k] / mean, want[i][k] / mean, 2e-5);
      }
    }
    power_fft_free(p);
  }
}

/// A sine of amplitude 1 in the middle of bin 100: (N / 2)^2 there; its lane
/// alone
static void
lanes_stay_apart(void** state)
{
  (void)state;
  enum { SIZE = 1024, BIN = 100, LANE = 5 };
  memset(rows, 0, sizeof(rows));
  for (uint32_t i = 0; i < SIZE; ++i) {
    rows[i][LANE] = (float)sin(2.0 * DSP_PI * BIN * i / SIZE);
  }
  power_fft* const p = power_fft_new(SIZE);
  power_fft_run(p, (signal_row*)(void*)rows);
  for (uint32_t i = 1; i < SIZE / 2; ++i) {
    const float* const row = rows[power_fft_place(p, i)];
    for (uint32_t k = 0; k < ROW_LANES; ++k) {
      const bool is_it = i == BIN && k == LANE;
      assert_near((double)row[k] / (SIZE * SIZE / 4.0), is_it ? 1.0 : 0.0,
                  k == LANE ? 1e-6 : 0.0);
    }
  }
  power_fft_free(p);
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(is_that_of_kissfft),
    cmocka_unit_test(lanes_stay_apart),
  };
  return cmocka_run_group_tests_name("power-fft", tests, NULL, NULL);
}
