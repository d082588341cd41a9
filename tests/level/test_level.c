// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// The level meter against the mathematics of sines and windows

#include "tests/support/check.h"

#include "common/level/level.h"

static void
feed(level* l, const float* x, uint32_t n)
{
  for (uint32_t at = 0; at < n; at += CONTROL_FRAMES) {
    level_control(l);
    level_add(l, x + at, n - at < CONTROL_FRAMES ? n - at : CONTROL_FRAMES);
  }
}

static void
test_sine_reads_its_rms(void** state)
{
  static const double rates[] = {8000, 44100, 48000, 96000, 192000, 384000};
  (void)state;
  for (size_t r = 0; r < sizeof(rates) / sizeof(rates[0]); ++r) {
    const uint32_t n = (uint32_t)rates[r];
    float* const   x = test_malloc(n * sizeof(float));
    check_sine(x, n, 1000.0, 1.0, rates[r]);

    level l;
    level_init(&l, rates[r]);
    feed(&l, x, n);
    // A full-scale sine is -3.01 dBFS RMS, being RMS by definition
    assert_near(level_db(&l, 1), -3.0103, 0.02);
    test_free(x);
  }
}

static void
test_window_is_400_ms(void** state)
{
  static float x[48000];
  level        l;
  (void)state;

  // 200 ms of full scale after silence fill half of the window ...
  for (uint32_t i = 0; i < 48000; ++i) {
    x[i] = i >= 48000 - 9600 ? 1.0F : 0.0F;
  }
  level_init(&l, 48000.0);
  feed(&l, x, 48000);
  assert_near(level_db(&l, 1), -3.0103, 0.15); // The window is 390 to 400 ms

  // ... and 400 ms later nothing is left of them
  for (uint32_t i = 0; i < 48000; ++i) {
    x[i] = 0.0F;
  }
  feed(&l, x, 19200 + 480);
  assert_near(level_db(&l, 1), LEVEL_FLOOR_DBFS, 0.0);
}

static void
test_channels_are_averaged_in_power(void** state)
{
  static float left[48000], right[48000];
  level        l;
  (void)state;

  check_sine(left, 48000, 500.0, 0.5, 48000.0);
  check_sine(right, 48000, 700.0, 0.1, 48000.0);
  level_init(&l, 48000.0);
  for (uint32_t at = 0; at < 48000; at += CONTROL_FRAMES) {
    level_control(&l);
    level_add(&l, left + at, CONTROL_FRAMES);
    level_add(&l, right + at, CONTROL_FRAMES);
  }
  assert_near(level_db(&l, 2), 0.5 * gain_to_db((0.125 + 0.005) / 2.0), 0.02);
}

static void
test_reset_is_silence(void** state)
{
  static float x[48000];
  level        l;
  (void)state;

  check_sine(x, 48000, 500.0, 1.0, 48000.0);
  level_init(&l, 48000.0);
  feed(&l, x, 48000);
  level_reset(&l);
  assert_near(level_db(&l, 1), LEVEL_FLOOR_DBFS, 0.0);
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_sine_reads_its_rms),
    cmocka_unit_test(test_window_is_400_ms),
    cmocka_unit_test(test_channels_are_averaged_in_power),
    cmocka_unit_test(test_reset_is_silence),
  };
  return cmocka_run_group_tests_name("level", tests, NULL, NULL);
}
