// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Close-microphone bass against the exact field of a point source and of a
/// rigid piston

#include "tests/support/check.h"

#include "common/speaker/mic_near_field.h"

#define CARDIOID 0.5
#define FIGURE_8 0.0

static const double tones_hz[] = {50, 100, 200, 400, 1000};
enum { N_TONES = 5 };

/// Gain in dB of a settled sine, measured through the pole
static double
gain_db(double corner_hz, double low_end_hz, double f_hz, double rate_hz)
{
  mic_near_field_pole p;
  mic_near_field_pole_init(&p, low_end_hz, rate_hz);
  const mic_near_field_mix m =
    mic_near_field_mix_of(corner_hz, low_end_hz, rate_hz);

  // Correlate over 1 s once 8 time constants of the pole have passed
  const uint32_t settle = (uint32_t)(8.0 * rate_hz / (6.28 * low_end_hz));
  double         re     = 0.0;
  double         im     = 0.0;
  for (uint32_t i = 0; i < settle + (uint32_t)rate_hz; ++i) {
    const double phase = 2.0 * DSP_PI * f_hz * i / rate_hz;
    const double x     = sin(phase);
    const double low   = mic_near_field_pole_next(&p, x);
    const double y     = m.direct * x + m.low * low;
    if (i >= settle) {
      re += y * cos(phase);
      im += y * sin(phase);
    }
  }
  return gain_to_db(2.0 * sqrt(re * re + im * im) / floor(rate_hz));
}

/// Lift of a spherical wave: u/p = 1 + 1/(jkr), weighted by the pattern
/// (L. L. Beranek, "Acoustics", 1954; H. F. Olson, "Acoustical Engineering",
/// 1957).  Printed values, computed from that formula: r in cm, then dB at the
/// five tones.
static const struct {
  double share, r_cm, db[N_TONES];
} point_source[] = {
  {FIGURE_8, 5, {26.79, 20.80, 14.89, 9.27, 3.41}},
  {FIGURE_8, 20, {14.89, 9.27, 4.57, 1.66, 0.31}},
  {FIGURE_8, 100, {3.41, 1.13, 0.31, 0.08, 0.01}},
  {CARDIOID, 5, {20.80, 14.89, 9.27, 4.57, 1.13}},
  {CARDIOID, 20, {9.27, 4.57, 1.66, 0.48, 0.08}},
  {CARDIOID, 100, {1.13, 0.31, 0.08, 0.02, 0.00}},
};

static void
test_point_source(void** state)
{
  (void)state;

  // The microphone's own low end at 1 Hz, out of the way
  static const double rates[] = {44100, 48000, 96000, 192000};
  for (uint32_t r = 0; r < 4; ++r) {
    for (uint32_t i = 0; i < 6; ++i) {
      const double fp = mic_near_field_corner_hz(
        point_source[i].share, 0.01 * point_source[i].r_cm, 0.0);
      for (uint32_t k = 0; k < N_TONES; ++k) {
        assert_near(gain_db(fp, 1.0, tones_hz[k], rates[r]),
                    point_source[i].db[k], 0.02);
      }
    }
  }
}

static void
test_half_the_velocity(void** state)
{
  (void)state;

  // A cardioid is half velocity: as a figure-8 at twice the distance (Eargle
  // 1994, sec. 88).  An omni has none of it.
  assert_near(mic_near_field_corner_hz(CARDIOID, 0.1, 0.0),
              mic_near_field_corner_hz(FIGURE_8, 0.2, 0.0), 1e-9);
  assert_near(mic_near_field_corner_hz(1.0, 0.1, 0.0), 0.0, 0.0);
}

static void
test_low_end(void** state)
{
  (void)state;

  // Closed form: 10 log10((f^2 + fp^2) / (f^2 + fl^2)), cardioid at 5 cm,
  // fl = 20 Hz
  static const double want[N_TONES] = {20.15, 14.72, 9.23, 4.56, 1.13};
  const double        fp = mic_near_field_corner_hz(CARDIOID, 0.05, 0.0);
  for (uint32_t k = 0; k < N_TONES; ++k) {
    assert_near(gain_db(fp, 20.0, tones_hz[k], 48000.0), want[k], 0.02);
  }
  assert_near(gain_db(fp, 20.0, 20000.0, 44100.0), 0.0, 0.02);
}

static void
test_piston(void** state)
{
  (void)state;

  // On the axis of a rigid piston of radius a the field has the lift of a point
  // source at sqrt(z^2 + a^2) as k -> 0 (closed form); a cardioid at 5 cm
  static const double want[N_TONES] = {11.49, 6.68, 2.88, 0.92, 0.16};
  const double        fp = mic_near_field_corner_hz(CARDIOID, 0.05, 0.13);
  for (uint32_t k = 0; k < N_TONES; ++k) {
    assert_near(gain_db(fp, 20.0, tones_hz[k], 48000.0), want[k], 0.02);
  }
  assert_true(mic_near_field_corner_hz(CARDIOID, 0.0, 0.13) <= 210.0);
}

static void
test_up_to_20_khz(void** state)
{
  (void)state;

  // The analog curve to 20 kHz, where a bilinear pole is 0.1 dB off at the
  // second corner and 0.35 dB at the third
  static const struct {
    double fp, tolerance;
  } corners[] = {{1092, 0.004}, {2730, 0.015}, {5459, 0.05}};
  for (uint32_t i = 0; i < 3; ++i) {
    for (uint32_t k = 0; k < 20; ++k) {
      const double fp = corners[i].fp;
      const double hz = floor(500.0 * pow(1.21, k));
      const double want =
        10.0 * log10((hz * hz + fp * fp) / (hz * hz + 20.0 * 20.0));
      assert_near(gain_db(fp, 20.0, hz, 44100.0), want, corners[i].tolerance);
    }
  }
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_point_source),
    cmocka_unit_test(test_half_the_velocity),
    cmocka_unit_test(test_low_end),
    cmocka_unit_test(test_piston),
    cmocka_unit_test(test_up_to_20_khz),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
