// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// The loudness meter against the standard's own test signals and libebur128.
///
/// EBU Tech 3341 (V4, 2023), table 1: 1 kHz, both channels in phase, levels in
/// dBFS of the peak, readings within 0.1 LU.  BS.1770-5: 997 Hz at 0 dBFS in
/// one channel reads -3.01 LKFS.

#include "tests/support/check.h"

#include "common/level/loudness.h"

#include <ebur128.h>

#define MAX_RATE 96000
#define MAX_S    101

typedef struct {
  double level_dbfs, length_s;
} span;

static float left[MAX_RATE * MAX_S], right[MAX_RATE * MAX_S];

static loudness meter;

/// Momentary and short-term readings at each 100 ms from `from_s` on
typedef struct {
  double from_s;
  double momentary_min, momentary_max, short_min, short_max;
} extremes;

static uint32_t
fill(const span* spans, uint32_t n_spans, double f_hz, double rate_hz)
{
  uint32_t n = 0;
  for (uint32_t s = 0; s < n_spans; ++s) {
    const double   peak  = db_to_gain(spans[s].level_dbfs);
    const uint32_t count = (uint32_t)lround(spans[s].length_s * rate_hz);
    for (uint32_t i = 0; i < count; ++i, ++n) {
      left[n] = right[n] =
        (float)(peak * sin(2.0 * DSP_PI * f_hz * n / rate_hz));
    }
  }
  return n;
}

static void
measure(uint32_t n, uint32_t n_channels, double rate_hz, extremes* e)
{
  loudness_init(&meter, rate_hz, n_channels);
  for (uint32_t at = 0; at < n; at += CONTROL_FRAMES) {
    const float* const in[] = {left + at, right + at};
    (void)loudness_control(&meter);
    if (e && meter.lines == 1 && at / rate_hz > e->from_s) {
      const double m   = loudness_momentary_lufs(&meter);
      const double s   = loudness_short_term_lufs(&meter);
      e->momentary_min = fmin(e->momentary_min, m);
      e->momentary_max = fmax(e->momentary_max, m);
      e->short_min     = fmin(e->short_min, s);
      e->short_max     = fmax(e->short_max, s);
    }
    loudness_add(&meter, in, n - at < CONTROL_FRAMES ? n - at : CONTROL_FRAMES);
  }
  (void)loudness_control(&meter);
}

static double
libebur128_integrated(uint32_t n, unsigned n_channels, double rate_hz)
{
  ebur128_state* e =
    ebur128_init(n_channels, (unsigned long)rate_hz, EBUR128_MODE_I);
  assert_non_null(e);
  if (n_channels == 1) { // Otherwise a lone channel might count twice
    ebur128_set_channel(e, 0, EBUR128_LEFT);
  }
  for (uint32_t i = 0; i < n; ++i) {
    const float frame[] = {left[i], right[i]};
    assert_int_equal(ebur128_add_frames_float(e, frame, 1), EBUR128_SUCCESS);
  }
  double lufs = 0.0;
  assert_int_equal(ebur128_loudness_global(e, &lufs), EBUR128_SUCCESS);
  ebur128_destroy(&e);
  return lufs;
}

static const double rates[] = {44100, 48000, 96000};

static void
check_integrated(const span* spans, uint32_t n_spans, double want_lufs)
{
  for (int r = 0; r < 3; ++r) {
    const uint32_t n = fill(spans, n_spans, 1000.0, rates[r]);
    measure(n, 2, rates[r], NULL);
    const double got = loudness_integrated_lufs(&meter);
    assert_near(got, want_lufs, 0.1);
    assert_near(got, libebur128_integrated(n, 2, rates[r]), 0.03);
  }
}

static void
test_tech_3341_cases_1_to_5(void** state)
{
  (void)state;
  check_integrated((span[]){{-23, 20}}, 1, -23.0);
  check_integrated((span[]){{-33, 20}}, 1, -33.0);
  check_integrated((span[]){{-36, 10}, {-23, 60}, {-36, 10}}, 3, -23.0);
  check_integrated(
    (span[]){{-72, 10}, {-36, 10}, {-23, 60}, {-36, 10}, {-72, 10}}, 5, -23.0);
  check_integrated((span[]){{-26, 20}, {-20, 20.1}, {-26, 20}}, 3, -23.0);
}

static void
test_tech_3341_case_9_short_term(void** state)
{
  span spans[10];
  (void)state;
  for (int i = 0; i < 10; ++i) {
    spans[i] = i % 2 ? (span){-30, 1.66} : (span){-20, 1.34};
  }
  for (int r = 0; r < 3; ++r) {
    extremes e = {.from_s = 3.2, .short_min = 100, .short_max = -100};
    measure(fill(spans, 10, 1000.0, rates[r]), 2, rates[r], &e);
    assert_near(e.short_min, -23.0, 0.1);
    assert_near(e.short_max, -23.0, 0.1);
  }
}

static void
test_tech_3341_case_12_momentary(void** state)
{
  span spans[50];
  (void)state;
  for (int i = 0; i < 50; ++i) {
    spans[i] = i % 2 ? (span){-30, 0.22} : (span){-20, 0.18};
  }
  for (int r = 0; r < 3; ++r) {
    extremes e = {.from_s = 1.2, .momentary_min = 100, .momentary_max = -100};
    measure(fill(spans, 50, 1000.0, rates[r]), 2, rates[r], &e);
    assert_near(e.momentary_min, -23.0, 0.1);
    assert_near(e.momentary_max, -23.0, 0.1);
  }
}

static void
test_bs_1770_anchor(void** state)
{
  (void)state;
  for (int r = 0; r < 3; ++r) {
    const uint32_t n = fill((span[]){{0, 10}}, 1, 997.0, rates[r]);
    measure(n, 1, rates[r], NULL);
    assert_near(loudness_integrated_lufs(&meter), -3.01, 0.05);
    // Tech 3341, 2.9: -18 dBFS, both channels
    measure(fill((span[]){{-18, 10}}, 1, 1000.0, rates[r]), 2, rates[r], NULL);
    assert_near(loudness_integrated_lufs(&meter), -18.0, 0.1);
  }
}

static void
test_noise_agrees_with_libebur128(void** state)
{
  uint32_t seed = 5;
  (void)state;
  // A minute of noise bursts over 50 dB, so that every gate acts
  const uint32_t n = 48000 * 60;
  for (uint32_t i = 0; i < n; ++i) {
    const double gain = db_to_gain(-50.0 * fmod(i / 48000.0 / 7.3, 1.0));
    left[i]           = (float)(gain * (double)check_noise(&seed));
    right[i]          = (float)(0.5 * gain * (double)check_noise(&seed));
  }
  measure(n, 2, 48000.0, NULL);
  assert_near(loudness_integrated_lufs(&meter),
              libebur128_integrated(n, 2, 48000.0), 0.03);
  measure(n, 1, 48000.0, NULL);
  assert_near(loudness_integrated_lufs(&meter),
              libebur128_integrated(n, 1, 48000.0), 0.03);
}

static void
test_silence_has_no_loudness(void** state)
{
  (void)state;
  const uint32_t n = fill((span[]){{-200, 5}}, 1, 1000.0, 48000.0);
  measure(n, 2, 48000.0, NULL);
  assert_near(loudness_integrated_lufs(&meter), GATED_LEVEL_FLOOR_DB, 0.0);
  assert_near(loudness_momentary_lufs(&meter), GATED_LEVEL_FLOOR_DB, 0.0);
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_tech_3341_cases_1_to_5),
    cmocka_unit_test(test_tech_3341_case_9_short_term),
    cmocka_unit_test(test_tech_3341_case_12_momentary),
    cmocka_unit_test(test_bs_1770_anchor),
    cmocka_unit_test(test_noise_agrees_with_libebur128),
    cmocka_unit_test(test_silence_has_no_loudness),
  };
  return cmocka_run_group_tests_name("loudness", tests, NULL, NULL);
}
