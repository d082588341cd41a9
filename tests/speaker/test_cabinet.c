// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

// The cabinet's curve against the analog prototypes, the wave from the rear
// against its geometry

#include "tests/support/check.h"

#include "common/speaker/cabinet.h"

#include <complex.h>
#include <string.h>

#define MAX_FRAMES 200000

static cabinet box;
static float   wave[MAX_FRAMES];

/// H of the W3C cookbook's bell at w = f / f0
static double complex
bell(double w, double db, double q)
{
  const double         a = pow(10.0, db / 40.0);
  const double complex s = w * (double complex)_Complex_I;
  return (s * s + s * a / q + 1.0) / (s * s + s / (a * q) + 1.0);
}

/// The curve of a scale s; the bell keeps its poles as it is lifted
static double
curve_db(double f, double s, double lift_db, double fall_oct)
{
  const double low_pass_hz = 5000.0 / s * exp2(-fall_oct);
  const double share =
    (db_to_gain(6.0 + lift_db) - 1.0) / (db_to_gain(6.0) - 1.0);
  const double complex fixed =
    bell(f * s / 450.0, -3.0, 0.8) * bell(f * s / 4200.0, 3.0, 2.5);
  const double complex lifted =
    1.0 + share * (bell(f * s / 2600.0, 6.0, 1.2) - 1.0);
  // Butterworth, fourth order
  return gain_to_db(cabs(fixed * lifted) /
                    sqrt(1.0 + pow(f / low_pass_hz, 8.0)));
}

static double
measured_db(double f_hz, uint32_t n, double rate_hz)
{
  return gain_to_db(0.5 * n * check_tone(wave, n, f_hz, rate_hz));
}

/// Takes the impulse response at rest at `line`
static uint32_t
impulse(cabinet_line line, double rate_hz)
{
  const uint32_t n = (uint32_t)(0.25 * rate_hz);
  memset(wave, 0, n * sizeof(float));
  wave[0] = 1.0F;
  cabinet_snap(&box, &line);
  cabinet_reset(&box);
  for (uint32_t i = 0; i < n; i += CONTROL_FRAMES) {
    const uint32_t left = n - i;
    float*         at   = wave + i;
    cabinet_push(&box, &line);
    cabinet_process(&box, (const float* const*)&at, &at, 1,
                    left < CONTROL_FRAMES ? left : CONTROL_FRAMES);
  }
  return n;
}

// Prototypes: W3C Group Note "Audio EQ Cookbook" (2021); Butterworth
static void
test_curve(void** state)
{
  (void)state;
  static const double rates[] = {44100.0, 48000.0, 96000.0, 192000.0};
  for (size_t r = 0; r < sizeof(rates) / sizeof(rates[0]); ++r) {
    double to_8k  = 0.0;
    double to_12k = 0.0;
    for (int size = CONE_8_INCH; size <= CONE_15_INCH; ++size) {
      const double s = cone_scale((cone_size)size);
      cabinet_init(&box, (cone_size)size, false, rates[r]);
      const uint32_t n = impulse((cabinet_line){0}, rates[r]);
      for (int i = 0; i <= 36; ++i) {
        const double f = 50.0 * exp2(i * log2(240.0) / 36.0);
        const double error =
          fabs(measured_db(f, n, rates[r]) - curve_db(f, s, 0.0, 0.0));
        to_8k  = fmax(to_8k, f < 8001.0 ? error : 0.0);
        to_12k = fmax(to_12k, error);
      }
    }
    print_message("# %6.0f Hz: %.3f dB to 8 kHz, %.3f dB to 12 kHz\n", rates[r],
                  to_8k, to_12k);
    assert_near(to_8k, 0.0, 0.05);
    assert_near(to_12k, 0.0, 0.25);
  }
}

// Played harder the bell rises and the low-pass falls
static void
test_moves(void** state)
{
  (void)state;
  cabinet_init(&box, CONE_12_INCH, false, 48000.0);
  for (int i = 0; i <= 4; ++i) {
    const cabinet_line  at  = {.lift_db = 0.5 * i, .fall_oct = 0.15 * i};
    static const double f[] = {100.0, 450.0, 2600.0, 5000.0, 8000.0};
    const uint32_t      n   = impulse(at, 48000.0);
    for (int j = 0; j < 5; ++j) {
      assert_near(measured_db(f[j], n, 48000.0),
                  curve_db(f[j], 1.0, at.lift_db, at.fall_oct),
                  j < 3 ? 0.06 : 0.2);
    }
  }
}

static double
section_db(const biquad* q, double w)
{
  const double complex e = cexp(-w * (double complex)_Complex_I);
  return gain_to_db(
    cabs((q->b0 + q->b1 * e) / (1.0 + q->a1 * e + q->a2 * e * e)));
}

// Moving, the low-pass is the design at its present frequency
static void
test_fall(void** state)
{
  (void)state;
  static const double rates[] = {44100.0, 48000.0, 192000.0};
  double              worst   = 0.0;
  for (size_t r = 0; r < sizeof(rates) / sizeof(rates[0]); ++r) {
    cabinet_init(&box, CONE_12_INCH, false, rates[r]);
    for (int i = 0; i <= 60; ++i) {
      const cabinet_line line = {.fall_oct = CABINET_MAX_FALL_OCT * i / 60.0};
      cabinet_snap(&box, &line);
      for (uint32_t k = 0; k < 2; ++k) {
        const biquad want = eq_low_pass(5000.0 * exp2(-line.fall_oct),
                                        eq_butterworth_q(4, k), rates[r]);
        for (double f = 20.0; f < 20000.0; f *= 1.3) {
          const double w = 2.0 * DSP_PI * f / rates[r];
          worst =
            fmax(worst, fabs(section_db(&box.now[CABINET_LOW_PASS_1 + k], w) -
                             section_db(&want, w)));
        }
      }
    }
  }
  print_message("# low-pass off by up to %.1e dB\n", worst);
  assert_near(worst, 0.0, 1e-4);
}

/// The far end of all movements
static const cabinet_line far = {2.0, 0.15, 1.0};

static cabinet_line
part_of_way(double share)
{
  return (cabinet_line){.lift_db  = share * far.lift_db,
                        .fall_oct = share * far.fall_oct,
                        .off_axis = share * far.off_axis};
}

// Sliding to a place gives the same as starting there
static void
test_slide(void** state)
{
  (void)state;
  cabinet_init(&box, CONE_12_INCH, false, 48000.0);
  cabinet_snap(&box, &(cabinet_line){0});
  static float slid[4096];
  check_sine(slid, 4096, 3000.0, 0.5, 48000.0);
  for (uint32_t i = 0; i < 4096; i += CONTROL_FRAMES) {
    const cabinet_line line = part_of_way(fmin(i / 2048.0, 1.0));
    float*             at   = slid + i;
    cabinet_push(&box, &line);
    cabinet_process(&box, (const float* const*)&at, &at, 1, CONTROL_FRAMES);
  }
  static float still[4096];
  check_sine(still, 4096, 3000.0, 0.5, 48000.0);
  cabinet_snap(&box, &far);
  cabinet_reset(&box);
  for (uint32_t i = 0; i < 4096; i += CONTROL_FRAMES) {
    float* at = still + i;
    cabinet_push(&box, &far);
    cabinet_process(&box, (const float* const*)&at, &at, 1, CONTROL_FRAMES);
  }
  for (uint32_t i = 3800; i < 4096; ++i) {
    assert_near((double)slid[i], (double)still[i], 1e-6);
  }
}

// p = front - r / (r + D) rear, 5 cm in front of 12 inch with D = 0.5 m, and
// the one-pole low-pass at 700 Hz: computed from that formula
static void
test_open_back(void** state)
{
  (void)state;
  static const double rates[] = {44100.0, 96000.0};
  for (size_t r = 0; r < 2; ++r) {
    cabinet_init(&box, CONE_12_INCH, true, rates[r]);
    const uint32_t n = impulse((cabinet_line){0}, rates[r]);
    for (int i = 0; i < 20; ++i) {
      const double         f = 40.0 * exp2(0.3 * i);
      const double         w = 2.0 * DSP_PI * f;
      const double complex j = (double complex)_Complex_I;
      const double complex rear =
        cexp(-j * w * 0.5 / 343.0) / (1.0 + j * f / 700.0) * 0.05 / 0.55;
      const double want =
        curve_db(f, 1.0, 0.0, 0.0) + gain_to_db(cabs(1.0 - rear));
      assert_near(measured_db(f, n, rates[r]), want, 0.05);
    }
  }
}

// 2 J1(x) / x (Eargle 1994) of a piston that stays at k a = 2.86, at 65
// degrees: scipy.special.j1 gives -8.76 dB, which a Butterworth shelf at 2.2
// kHz reaches within 0.03 dB at 10 kHz
static void
test_off_axis(void** state)
{
  (void)state;
  const double rate_hz = 192000.0;
  cabinet_init(&box, CONE_12_INCH, false, rate_hz);
  double db[2];
  for (int i = 0; i < 2; ++i) {
    const cabinet_line line = {.off_axis = i};
    const uint32_t     n    = 19200;
    check_sine(wave, n, 10000.0, 0.5, rate_hz);
    cabinet_snap(&box, &line);
    cabinet_reset(&box);
    for (uint32_t at = 0; at < n; at += CONTROL_FRAMES) {
      float* x = wave + at;
      cabinet_push(&box, &line);
      cabinet_process(&box, (const float* const*)&x, &x, 1, CONTROL_FRAMES);
    }
    db[i] = gain_to_db(check_tone(wave + 9600, 9600, 10000.0, rate_hz));
  }
  assert_near(db[1] - db[0], -8.73, 0.02);
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_curve),     cmocka_unit_test(test_moves),
    cmocka_unit_test(test_fall),      cmocka_unit_test(test_slide),
    cmocka_unit_test(test_open_back), cmocka_unit_test(test_off_axis),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
