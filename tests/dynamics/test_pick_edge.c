// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// The transient saturation: harmonics, aliasing, alignment

#include "tests/support/check.h"

#include "common/dynamics/pick_edge.h"

enum { N = 96000, TAIL = 48000 };

static float x[N], diff[N], y[N];

/// Runs a sine of `a_db` through it; y is the delayed sine plus the difference
static void
run(double f_hz, double a_db, double rate_hz)
{
  pick_edge e;
  pick_edge_init(&e, rate_hz);
  const uint32_t latency = pick_edge_latency_frames(rate_hz);
  check_sine(x, N, f_hz, db_to_gain(a_db), rate_hz);
  for (uint32_t i = 0; i < N; i += CONTROL_FRAMES) {
    pick_edge_process(&e, x + i, diff + i, CONTROL_FRAMES);
  }
  for (uint32_t i = latency; i < N; ++i) {
    y[i] = x[i - latency] + diff[i];
  }
}

/// Amplitude of a component over the last second
static double
tone(double f_hz)
{
  return check_tone(y + N - TAIL, TAIL, f_hz, 48000.0);
}

/// Amplitude in dB; HD2 and HD3 in percent of the fundamental, gain of the
/// fundamental in dB.  Computed by exact Fourier analysis of f in double.
static const struct {
  double a_db, hd2, hd3, gain_db;
} harmonics[] = {
  {-24, 0.382, 0.015, -0.004}, {-18, 0.761, 0.059, -0.015},
  {-12, 1.504, 0.233, -0.061}, {-6, 2.893, 0.911, -0.238},
  {0, 5.043, 3.377, -0.893},   {6, 6.630, 10.50, -2.914},
};

static void
test_harmonics(void** state)
{
  (void)state;

  for (uint32_t i = 0; i < 6; ++i) {
    run(1000.0, harmonics[i].a_db, 48000.0);
    const double h1  = tone(1000.0);
    const double hd2 = 100.0 * tone(2000.0) / h1;
    const double hd3 = 100.0 * tone(3000.0) / h1;
    assert_near(hd2, harmonics[i].hd2, fmax(0.03 * harmonics[i].hd2, 0.002));
    assert_near(hd3, harmonics[i].hd3, fmax(0.03 * harmonics[i].hd3, 0.002));
    assert_near(gain_to_db(h1 / db_to_gain(harmonics[i].a_db)),
                harmonics[i].gain_db, 0.01);
  }
}

static void
test_curve(void** state)
{
  (void)state;

  assert_near(pick_edge_curve(0.0), 0.0, 1e-15);
  assert_near((pick_edge_curve(1e-6) - pick_edge_curve(-1e-6)) / 2e-6, 1.0,
              1e-9);

  // Bounds: (+-1 - t) / (a (1 - t^2))
  const double t = tanh(0.7 * 0.25);
  assert_near(pick_edge_curve(1e3), (1.0 - t) / (0.7 * (1.0 - t * t)), 1e-12);
  assert_near(pick_edge_curve(-1e3), -(1.0 + t) / (0.7 * (1.0 - t * t)), 1e-12);
}

/// Antiderivative of f
static double
antiderivative(double v)
{
  const double a = 0.7;
  const double b = 0.25;
  const double t = tanh(a * b);
  return (log(cosh(a * (v + b))) / a - t * v) / (a * (1.0 - t * t));
}

static void
test_mean(void** state)
{
  (void)state;

  // At 192 kHz there are no filters: each output is the mean of f over the
  // step, less that of the input, by the quotient of antiderivatives (Parker
  // et al. 2016).  Two tones, A up to 12 dB.
  const double rate_hz = 192000.0;
  assert_int_equal(pick_edge_latency_frames(rate_hz), 0);
  pick_edge e;
  pick_edge_init(&e, rate_hz);
  double before = 0.0;
  for (uint32_t i = 0; i < 19200; ++i) {
    const double t = i / rate_hz;
    const float  in =
      (float)(2.7 * sin(2.0 * DSP_PI * 331.0 * t) + 1.3 * sin(6000.0 * t));
    const double v = (double)in;
    float        out;
    pick_edge_process(&e, &in, &out, 1);

    const double step = v - before;
    const double mean = fabs(step) < 1e-4
                          ? pick_edge_curve(0.5 * (v + before))
                          : (antiderivative(v) - antiderivative(before)) / step;
    const double want = mean - 0.5 * (v + before);
    assert_near((double)out, want, 2e-5);
    before = v;
  }
}

/// Strongest component between 60 Hz and 20 kHz that is no harmonic, in dB re
/// the fundamental, looked for where the harmonics 2 to 99 fold to.  One second
/// holds whole periods of all of them: no window is needed.
static double
alias_db(double f_hz, double a_db)
{
  run(f_hz, a_db, 48000.0);
  double worst = 0.0;
  for (uint32_t h = 2; h < 100; ++h) {
    const double f    = h * f_hz;
    const double fold = fabs(f - 48000.0 * round(f / 48000.0));
    if (f > 24000.0 && fold >= 60.0 && fold <= 20000.0) {
      worst = fmax(worst, tone(fold));
    }
  }
  return gain_to_db(worst / tone(f_hz) + 1e-12);
}

static void
test_aliasing(void** state)
{
  (void)state;

  assert_true(alias_db(4999.0, 0.0) < -110.0);
  assert_true(alias_db(2503.0, 6.0) < -110.0);
  assert_true(alias_db(1201.0, 18.0) < -110.0);

  // Where f alone would leave -84 dB
  assert_true(alias_db(4999.0, 12.0) < -100.0);
}

/// The stage takes the offset of playing away (test_under_the_hearing.c)
static void
test_no_offset_at_rest(void** state)
{
  (void)state;

  pick_edge e;
  pick_edge_init(&e, 48000.0);
  float still[CONTROL_FRAMES] = {0};
  pick_edge_process(&e, still, still, CONTROL_FRAMES);
  for (uint32_t i = 0; i < CONTROL_FRAMES; ++i) {
    assert_near((double)still[i], 0.0, 1e-6);
  }
}

/// Phase of the component at `f_hz` of `v`, last second
static double
phase(const float* v, double f_hz)
{
  double re = 0.0;
  double im = 0.0;
  for (uint32_t i = N - TAIL; i < N; ++i) {
    const double p = 2.0 * DSP_PI * f_hz * i / 48000.0;
    re += (double)v[i] * sin(p);
    im += (double)v[i] * cos(p);
  }
  return atan2(im, re);
}

static void
test_alignment(void** state)
{
  (void)state;

  // The difference at the fundamental is opposite to the delayed input, within
  // half a frame up to 5 kHz
  static const double tones_hz[] = {500.0, 1000.0, 2000.0, 5000.0};
  for (uint32_t i = 0; i < 4; ++i) {
    const double f = tones_hz[i];
    run(f, 0.0, 48000.0);
    const double lag     = pick_edge_latency_frames(48000.0);
    const double delayed = -2.0 * DSP_PI * f * lag / 48000.0;
    const double off     = phase(diff, f) - delayed - DSP_PI;
    const double turns   = off / (2.0 * DSP_PI);
    const double frames  = (turns - round(turns)) * 48000.0 / f;
    assert_near(frames, 0.0, 0.5);
  }
}

static void
test_extremes(void** state)
{
  (void)state;

  static const double rates[] = {8000, 44100, 96000, 384000};
  uint32_t            seed    = 1;
  for (uint32_t k = 0; k < 4; ++k) {
    pick_edge e;
    pick_edge_init(&e, rates[k]);
    for (uint32_t i = 0; i < 1000; ++i) {
      float v[CONTROL_FRAMES];
      for (uint32_t j = 0; j < CONTROL_FRAMES; ++j) {
        v[j] = 1e6F * check_noise(&seed);
      }
      pick_edge_process(&e, v, v, CONTROL_FRAMES);
      for (uint32_t j = 0; j < CONTROL_FRAMES; ++j) {
        assert_true(fabsf(v[j]) < 1e7F);
      }
    }
  }
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_harmonics),
    cmocka_unit_test(test_curve),
    cmocka_unit_test(test_mean),
    cmocka_unit_test(test_aliasing),
    cmocka_unit_test(test_no_offset_at_rest),
    cmocka_unit_test(test_alignment),
    cmocka_unit_test(test_extremes),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
