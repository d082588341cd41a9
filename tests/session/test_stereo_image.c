// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Correlation and mono level of a mix, by closed forms: lr / sqrt(ll rr) and
/// ((l + r) / 2)^2 against the mean of l^2 and r^2, over takes of any length

#include "tests/support/check.h"

#include "common/core/dsp.h"

#include "presets-demo/session/measure/stereo_image.h"

#define RATE_HZ 48000.0
#define N       28800U ///< 0.6 s: a window of 0.4 s, and half of one

static float        left[N], right[N];
static const float* sides[] = {left, right};

static spectrum_tools* tools;

/// Both are 0.5 apart from the sign; left * right has that of `first`, then
/// `rest`
static void
fill(float first, float rest)
{
  for (uint32_t i = 0; i < N; ++i) {
    left[i]  = i % 96 < 48 ? 0.5F : -0.5F;
    right[i] = (i < N * 2 / 3 ? first : rest) * left[i];
  }
}

static void
check_image(double correlation, double mono_db)
{
  // Whole, and in pieces that meet no window
  static const uint32_t pieces[] = {N, 777};
  for (int p = 0; p < 2; ++p) {
    stereo_image m;
    stereo_image_init(&m, RATE_HZ, N, tools);
    for (uint32_t at = 0; at < N; at += pieces[p]) {
      const float* const x[] = {left + at, right + at};
      stereo_image_add(&m, x, N - at < pieces[p] ? N - at : pieces[p]);
    }
    assert_near(stereo_image_correlation(&m), correlation, 1e-9);
    assert_near(stereo_image_mono_db(&m), mono_db, 1e-6);
    stereo_image_clear(&m);
  }
}

static void
test_same_and_half(void** state)
{
  (void)state;
  fill(1.0F, 1.0F);
  check_image(1.0, 0.0);
  // The other side as loud and unrelated: a quarter of a period later
  for (uint32_t i = 0; i < N; ++i) {
    right[i] = left[(i + 24) % N];
  }
  check_image(0.0, 10.0 * log10(0.5));
  // One side at half the level: l r = 1/2, r^2 = 1/4; (3/4)^2 / (5/8)
  fill(0.5F, 0.5F);
  check_image(1.0, 10.0 * log10(0.5625 / 0.625));
}

static void
test_the_rest_behind_the_last_window_counts(void** state)
{
  (void)state;
  // Two thirds equal, one third opposite, either way round
  fill(1.0F, -1.0F);
  check_image(1.0 / 3.0, 10.0 * log10(2.0 / 3.0));
  fill(-1.0F, 1.0F);
  check_image(-1.0 / 3.0, 10.0 * log10(1.0 / 3.0));
}

static void
test_opposite_and_silent(void** state)
{
  (void)state;
  stereo_image m;
  fill(-1.0F, -1.0F);
  stereo_image_init(&m, RATE_HZ, N, tools);
  stereo_image_add(&m, sides, N);
  assert_near(stereo_image_correlation(&m), -1.0, 1e-9);
  assert_true(stereo_image_mono_db(&m) < -100.0);
  for (uint32_t band = 0; band < SPECTRUM_N_BANDS; ++band) {
    assert_true(probe_figures(&m.mono).bands_db[band] < -200.0);
  }
  stereo_image_clear(&m);

  // Nothing on the right: half the amplitude, against half the power
  fill(0.0F, 0.0F);
  stereo_image_init(&m, RATE_HZ, N, tools);
  stereo_image_add(&m, sides, N);
  // The fundamental of a square wave of 500 Hz that reaches 1/4: 4 / pi of it.
  // It falls between two bands.
  const double peak = 0.25 * 4.0 / DSP_PI;
  double       sum  = 0.0;
  for (uint32_t band = 19; band <= 24; ++band) { // 376 to 668 Hz
    sum += pow(10.0, probe_figures(&m.mono).bands_db[band] / 10.0);
  }
  assert_near(10.0 * log10(sum), 10.0 * log10(0.5 * peak * peak), 0.1);
  assert_true(isnan(stereo_image_correlation(&m)));
  assert_near(stereo_image_mono_db(&m), 10.0 * log10(0.5), 1e-6);
  stereo_image_clear(&m);

  stereo_image_init(&m, RATE_HZ, N, tools);
  assert_true(isnan(stereo_image_mono_db(&m)));
  stereo_image_clear(&m);
}

static int
start(void** state)
{
  (void)state;
  tools = spectrum_tools_new(RATE_HZ);
  return 0;
}

static int
end(void** state)
{
  (void)state;
  spectrum_tools_free(tools);
  return 0;
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_same_and_half),
    cmocka_unit_test(test_the_rest_behind_the_last_window_counts),
    cmocka_unit_test(test_opposite_and_silent),
  };
  return cmocka_run_group_tests_name("stereo_image", tests, start, end);
}
