// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// The transport's reading on a flutter meter, and that between two heads

#include "tests/support/check.h"

#include "common/tape/tape_line.h"

#include <string.h>

#define RATE_HZ 48000.0

// Weighting curve of AES6-2008 (IEC 60386, DIN 45507), in dB
static const struct {
  double f_hz, db;
} curve[] = {{0.1, -48.0},  {0.2, -30.6},  {0.315, -19.7}, {0.4, -15.0},
             {0.63, -8.4},  {0.8, -6.0},   {1.0, -4.2},    {1.6, -1.8},
             {2.0, -0.9},   {4.0, 0.0},    {6.3, -0.9},    {10.0, -2.1},
             {20.0, -5.9},  {40.0, -10.4}, {63.0, -14.2},  {100.0, -17.3},
             {200.0, -23.0}};
enum { CURVE = sizeof(curve) / sizeof(curve[0]) };

static void
test_weighting(void** state)
{
  (void)state;
  for (uint32_t i = 0; i < CURVE; ++i) {
    assert_near(gain_to_db(flutter_weight(curve[i].f_hz)), curve[i].db, 0.85);
  }
}

/// Straight lines over log f
static double
curve_gain(double f_hz)
{
  uint32_t i = 0;
  while (i + 2 < CURVE && curve[i + 1].f_hz < f_hz) {
    ++i;
  }
  const double way =
    log(f_hz / curve[i].f_hz) / log(curve[i + 1].f_hz / curve[i].f_hz);
  return db_to_gain(curve[i].db + way * (curve[i + 1].db - curve[i].db));
}

static int
by_size(const void* a, const void* b)
{
  const double x = *(const double*)a;
  const double y = *(const double*)b;
  return (x > y) - (x < y);
}

/// Weighted peak reading of a record of speed errors: not exceeded for 95 % of
/// the time.  Weighted in the spectrum, by the table.
static double
reading(const double* x, uint32_t n, double rate_hz)
{
  double* y = calloc(n, sizeof(double));
  assert_non_null(y);
  for (uint32_t k = 1; k < n / 2; ++k) {
    const double w  = 2.0 * DSP_PI * k / n;
    double       re = 0.0;
    double       im = 0.0;
    for (uint32_t i = 0; i < n; ++i) {
      re += x[i] * cos(w * i);
      im += x[i] * sin(w * i);
    }
    const double g = 2.0 / n * curve_gain(k * rate_hz / n);
    for (uint32_t i = 0; i < n; ++i) {
      y[i] += g * (re * cos(w * i) + im * sin(w * i));
    }
  }
  for (uint32_t i = 0; i < n; ++i) {
    y[i] = fabs(y[i]);
  }
  qsort(y, n, sizeof(double), by_size);
  const double value = y[(uint32_t)(0.9545 * n)];
  free(y);
  return value;
}

static void
test_transport_reads_as_set(void** state)
{
  (void)state;
  // 20 s of speed errors, 100 a second: the error of a delay of 1 ms, per ms.
  // 1 % within 10 %, as good as such meters are (IEC 60386, from memory).
  enum { N = 2000 };
  static double eps[N];
  const double  rate_hz = 3200.0; // 100 grid lines a second
  flutter       f;
  flutter_lag   lag;
  flutter_init(&f, rate_hz);
  flutter_lag_of(&f, 0.001, &lag);
  for (uint32_t i = 0; i < N; ++i) {
    flutter_control(&f);
    eps[i] = -flutter_late_s(&f, &lag) / 0.001;
  }
  const double got = reading(eps, N, 100.0);
  print_message("# reads %.3f %%\n", 100.0 * got);
  assert_near(got, 0.01, 0.001);
}

static void
test_same_every_time(void** state)
{
  (void)state;
  flutter     f;
  flutter_lag lag;
  double      first[50];
  flutter_init(&f, RATE_HZ);
  flutter_lag_of(&f, 0.034, &lag);
  for (uint32_t i = 0; i < 50; ++i) {
    flutter_control(&f);
    first[i] = flutter_late_s(&f, &lag);
  }
  flutter_reset(&f);
  for (uint32_t i = 0; i < 50; ++i) {
    flutter_control(&f);
    assert_true(flutter_late_s(&f, &lag) == first[i]);
  }
}

static void
test_turning_does_not_drift(void** state)
{
  (void)state;
  // After ten minutes every phasor still has length 1 and the phase of a sine
  flutter f;
  flutter_init(&f, RATE_HZ);
  const uint32_t lines = 600 * 1500;
  for (uint32_t i = 0; i < lines; ++i) {
    flutter_control(&f);
  }
  for (uint32_t i = 0; i < FLUTTER_PARTS; ++i) {
    assert_near(hypot(f.re[i], f.im[i]), 1.0, 1e-9);
    assert_near(f.re[i], cos(f.start[i] + f.w[i] * 600.0), 1e-6);
  }
}

// ---------------------------------------------------------------------------
// A tone of 3150 Hz on a tape that flutters at 4 Hz alone

static tape_line line;

/// Largest deviation of its frequency, as a share, in 2 s
static double
deviation(double delay_s)
{
  enum { N = 144000, TONE = 480 }; // 31.5 periods, two of which are a window
  static float x[N], y[N];
  check_sine(x, N, 3150.0, 0.5, RATE_HZ);
  memset(&line, 0, sizeof(line));
  tape_line_init(&line, RATE_HZ, 1);
  flutter_init_single(&line.transport, 4.0, RATE_HZ);
  tape_line_set(&line, delay_s * RATE_HZ, 0.1);
  tape_line_reset(&line);
  for (uint32_t at = 0; at < N; at += CONTROL_FRAMES) {
    const float* in  = x + at;
    float*       out = y + at;
    tape_line_control(&line);
    tape_line_read(&line, &out, CONTROL_FRAMES);
    tape_line_write(&line, &in, CONTROL_FRAMES);
  }
  // Phase against the tone in windows of 20 ms, 10 ms apart
  double last = 0.0;
  double most = 0.0;
  for (uint32_t at = 24000; at + 2 * TONE < N; at += TONE) {
    double re = 0.0;
    double im = 0.0;
    for (uint32_t i = 0; i < 2 * TONE; ++i) {
      const double w    = 2.0 * DSP_PI * 3150.0 * (at + i) / RATE_HZ;
      const double hann = 1.0 - cos(DSP_PI * (i + 0.5) / TONE);
      re += hann * (double)y[at + i] * sin(w);
      im += hann * (double)y[at + i] * cos(w);
    }
    const double phase = atan2(im, re);
    if (at > 24000) {
      const double step = remainder(phase - last, 2.0 * DSP_PI);
      most = fmax(most, fabs(step) / (2.0 * DSP_PI * 3150.0 * TONE / RATE_HZ));
    }
    last = phase;
  }
  return most;
}

static void
test_two_heads_on_one_transport(void** state)
{
  (void)state;
  // eps(t) - eps(t - T): 2 |sin(pi f T)| of 0.1 % (closed form), within 5 %
  static const double delays_s[] = {0.010, 0.040, 0.125, 0.240};
  for (uint32_t i = 0; i < 4; ++i) {
    const double want = 0.001 * 2.0 * sin(DSP_PI * 4.0 * delays_s[i]);
    const double got  = deviation(delays_s[i]);
    print_message("# %3.0f ms: %.4f %%, closed form %.4f\n", 1e3 * delays_s[i],
                  100.0 * got, 100.0 * want);
    assert_near(got, want, 0.05 * want + 1e-6);
  }
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_weighting),
    cmocka_unit_test(test_transport_reads_as_set),
    cmocka_unit_test(test_same_every_time),
    cmocka_unit_test(test_turning_does_not_drift),
    cmocka_unit_test(test_two_heads_on_one_transport),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
