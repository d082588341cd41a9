// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// The takes of "Low Tide" are what a DI recording is: levels, noise, identity

#include "tests/support/check.h"

#include "presets-demo/guitar/performance.h"
#include "presets-demo/guitar/take.h"

#define MAX_FRAMES (40 * TAKE_RATE_HZ)

static int32_t samples[N_TAKES][MAX_FRAMES];

static int
render_all(void** state)
{
  (void)state;
  assert_true(take_frames() <= MAX_FRAMES);
  for (int k = 0; k < N_TAKES; ++k) {
    if (!take_render((take)k, samples[k])) {
      return 1;
    }
  }
  return 0;
}

// FNV-1a over the three bytes of each sample, low byte first
static uint64_t
checksum(const int32_t* x, uint32_t n)
{
  uint64_t sum = 0xcbf29ce484222325U;
  for (uint32_t i = 0; i < n; ++i) {
    for (uint32_t b = 0; b < 3; ++b) {
      sum = (sum ^ (((uint32_t)x[i] >> (8 * b)) & 0xffU)) * 0x100000001b3U;
    }
  }
  return sum;
}

static double
rms_db(const int32_t* x, double from_s, double to_s)
{
  double         sum  = 0.0;
  const uint32_t from = (uint32_t)(from_s * TAKE_RATE_HZ);
  const uint32_t to   = (uint32_t)(to_s * TAKE_RATE_HZ);
  for (uint32_t i = from; i < to; ++i) {
    sum += (double)x[i] * x[i];
  }
  return gain_to_db(sqrt(sum / (to - from)) / 8388608.0);
}

// Blocks of 400 ms every 100 ms; -60 dBFS absolute gate, then -10 dB relative:
// the gating of EBU Tech 3341 on plain RMS
static double
gated_db(const int32_t* x)
{
  double gate_db = -60.0;
  double mean    = 0.0;
  for (uint32_t pass = 0; pass < 2; ++pass) {
    double   sum = 0.0;
    uint32_t n   = 0;
    for (uint32_t i = 0; (i + 4) * (TAKE_RATE_HZ / 10) < take_frames(); ++i) {
      const double db = rms_db(x, 0.1 * i, 0.1 * i + 0.4);
      sum += db > gate_db ? pow(10.0, 0.1 * db) : 0.0;
      n += db > gate_db;
    }
    mean    = 10.0 * log10(sum / n);
    gate_db = mean - 10.0;
  }
  return mean;
}

static double
peak_db(const int32_t* x)
{
  int32_t peak = 0;
  for (uint32_t i = 0; i < take_frames(); ++i) {
    peak = abs(x[i]) > peak ? abs(x[i]) : peak;
  }
  return gain_to_db(peak / 8388608.0);
}

// Ranges of a healthy DI track: common practice
static void
test_levels(void** state)
{
  (void)state;
  for (int k = 0; k < N_TAKES; ++k) {
    const double gated = gated_db(samples[k]);
    const double peak  = peak_db(samples[k]);
    print_message("# %s: %.1f dBFS RMS gated, peak %.1f dBFS, crest %.1f dB\n",
                  take_name((take)k), gated, peak, peak - gated);
    assert_near(gated, -24.0, 2.0);
    assert_near(peak, -5.0, 2.0);
    // Two recorded takes: 20.8 dB of rhythm, 24.5 dB of lead
    assert_true(peak - gated >= 18.0 && peak - gated < 25.0);
  }
}

// Quiet, open, heavy: the takes must span levels for a chain that reacts to
// them
static void
test_dynamics(void** state)
{
  (void)state;
  const double bar_s = 4.0 * SCORE_BEAT_S;
  for (int k = TAKE_RHYTHM_LEFT; k <= TAKE_RHYTHM_RIGHT; ++k) {
    const double t     = performance_start_s();
    const double quiet = rms_db(samples[k], t, t + 4 * bar_s);
    const double open  = rms_db(samples[k], t + 4 * bar_s, t + 8 * bar_s);
    const double heavy = rms_db(samples[k], t + 8 * bar_s, t + 12 * bar_s);
    assert_true(open > quiet + 3.0 && heavy > open + 2.0);
    assert_true(heavy < quiet + 14.0);
  }
}

static void
test_hum_and_noise(void** state)
{
  (void)state;
  for (int k = 0; k < N_TAKES; ++k) {
    assert_near(rms_db(samples[k], 0.1, 0.5), -75.0, 2.0); // Count-in
    const double end_s = (double)take_frames() / TAKE_RATE_HZ;
    assert_near(rms_db(samples[k], end_s - 0.3, end_s), -75.0, 2.0);

    // 50 Hz over 20 periods, and what is left without it and its harmonics
    double hum = 0.0;
    for (uint32_t h = 1; h <= 9; ++h) {
      double re = 0.0;
      double im = 0.0;
      for (uint32_t i = 0; i < 19200; ++i) {
        const double x = samples[k][4800 + i] / 8388608.0;
        const double w = 2.0 * DSP_PI * 50.0 * h * i / TAKE_RATE_HZ;
        re += x * cos(w) / 19200.0;
        im += x * sin(w) / 19200.0;
      }
      hum += 2.0 * (re * re + im * im);
    }
    const double all = pow(10.0, 0.1 * rms_db(samples[k], 0.1, 0.5));
    assert_near(10.0 * log10(hum), -75.5, 1.5);
    assert_near(10.0 * log10(all - hum), -81.0, 2.5);
  }
}

static void
test_no_dc(void** state)
{
  (void)state;
  for (int k = 0; k < N_TAKES; ++k) {
    double sum = 0.0;
    for (uint32_t i = 0; i < take_frames(); ++i) {
      sum += samples[k][i];
    }
    assert_true(fabs(sum / take_frames()) < 8388608.0 * 1e-5);
  }
}

// Doubles widen only as far as they differ
static void
test_rhythms_are_two_performances(void** state)
{
  (void)state;
  const int32_t* l  = samples[TAKE_RHYTHM_LEFT];
  const int32_t* r  = samples[TAKE_RHYTHM_RIGHT];
  double         lr = 0.0;
  double         ll = 0.0;
  double         rr = 0.0;
  for (uint32_t i = 0; i < take_frames(); ++i) {
    lr += (double)l[i] * r[i];
    ll += (double)l[i] * l[i];
    rr += (double)r[i] * r[i];
  }
  assert_true(fabs(lr) / sqrt(ll * rr) < 0.2);
}

static void
test_ring_out(void** state)
{
  (void)state;
  const double end_s = performance_start_s() + 48 * SCORE_BEAT_S;
  for (int k = 0; k < N_TAKES; ++k) {
    const double early = rms_db(samples[k], end_s + 0.2, end_s + 0.4);
    const double late  = rms_db(samples[k], end_s + 2.8, end_s + 3.0);
    assert_true(early > -30.0);
    assert_true(late > -70.0 && late < early - 6.0);
  }
  assert_true(rms_db(samples[TAKE_LEAD], 0.1, 10.0) < -73.0); // Waits for bar 5
}

// The same bytes on every run and on every machine: these sums were taken on
// one machine and change only when the sound is meant to
static void
test_bytes_repeat(void** state)
{
  (void)state;
  static const uint64_t SUMS[N_TAKES] = {
    0x90ceaefbf017cb43U, 0xf68dcb3100e951d7U, 0xbef49c838c5eb618U};
  static int32_t again[MAX_FRAMES];
  for (int k = 0; k < N_TAKES; ++k) {
    const uint64_t sum = checksum(samples[k], take_frames());
    assert_true(take_render((take)k, again));
    assert_true(checksum(again, take_frames()) == sum);
    print_message("# %s: 0x%016llx\n", take_name((take)k),
                  (unsigned long long)sum);
    assert_true(sum == SUMS[k]);
  }
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_levels),
    cmocka_unit_test(test_dynamics),
    cmocka_unit_test(test_hum_and_noise),
    cmocka_unit_test(test_no_dc),
    cmocka_unit_test(test_rhythms_are_two_performances),
    cmocka_unit_test(test_ring_out),
    cmocka_unit_test(test_bytes_repeat),
  };
  return cmocka_run_group_tests(tests, render_all, NULL);
}
