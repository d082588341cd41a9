// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// The loudness of several signals at once against libebur128, one at a time

#include "tests/support/check.h"

#include "presets-demo/render/audio/gated_mean.h"
#include "presets-demo/render/measure/loudness_bank.h"

#include <ebur128.h>

#include <stdlib.h>

#define MAX_SIGNALS 11U
#define MAX_RATE_HZ 96000U
#define LENGTH_S    12U

/// Of one channel; signals take them in turn
static float* channels[2 * MAX_SIGNALS];

/// Fills a channel with noise whose level goes up and down over 50 dB, with a
/// pause, so that both gates have work
static void
fill(float* x, uint32_t n, uint32_t seed)
{
  for (uint32_t i = 0; i < n; ++i) {
    const double at    = (double)i / n;
    const double db    = -30.0 + 25.0 * sin(17.0 * at + (double)seed);
    const bool   pause = at > 0.4 && at < 0.5;
    x[i] = pause ? 0.0F : (float)db_to_gain(db) * check_noise(&seed);
  }
}

static double
reference(const float* const* x, uint32_t n_channels, uint32_t n, uint32_t rate)
{
  ebur128_state* s      = ebur128_init(n_channels, rate, EBUR128_MODE_I);
  float* const   frames = malloc(2 * n * sizeof(float));
  double         lufs   = 0.0;
  assert_true(s && frames);
  if (n_channels == 1) {
    assert_int_equal(ebur128_set_channel(s, 0, EBUR128_DUAL_MONO), 0);
  }
  for (uint32_t i = 0; i < n; ++i) {
    for (uint32_t k = 0; k < n_channels; ++k) {
      frames[i * n_channels + k] = x[k][i];
    }
  }
  assert_int_equal(ebur128_add_frames_float(s, frames, n), 0);
  assert_int_equal(ebur128_loudness_global(s, &lufs), 0);
  ebur128_destroy(&s);
  free(frames);
  return lufs;
}

/// Adds signals that come in turn, each later than the one before by 37 frames,
/// in blocks that meet no hop
static void
add_all(loudness_bank*  b,
        const uint32_t* n_channels,
        uint32_t        n_signals,
        uint32_t        n)
{
  enum { BLOCK = 501, LATE = 37 };
  signal_rows* const rows              = signal_rows_new(n_channels, n_signals);
  uint32_t           done[MAX_SIGNALS] = {0};
  for (uint32_t at = 0; done[n_signals - 1] < n; at += BLOCK) {
    uint32_t first = 0;
    for (uint32_t i = 0; i < n_signals; ++i) {
      const uint32_t     to  = at + BLOCK - i * LATE;
      const uint32_t     end = to < n ? to : n;
      const float* const x[] = {channels[first] + done[i],
                                channels[first + n_channels[i] - 1] + done[i]};
      signal_rows_add(rows, i, x, end - done[i]);
      done[i] = end;
      first += n_channels[i];
    }
    const uint32_t n_ready = signal_rows_n_ready(rows);
    loudness_bank_add(b, rows, n_ready);
    signal_rows_drop(rows, n_ready);
  }
  assert_int_equal(signal_rows_n_ready(rows), 0);
  signal_rows_free(rows);
}

/// Any number of signals, mono and stereo, at rates with other coefficients
static void
is_that_of_libebur128(void** state)
{
  (void)state;
  static const uint32_t rates_hz[]              = {44100, 48000, 96000};
  static const uint32_t kinds[]                 = {1, 2, 8, MAX_SIGNALS};
  static const uint32_t n_channels[MAX_SIGNALS] = {2, 1, 1, 2, 1, 1,
                                                   1, 1, 2, 2, 1};
  for (size_t r = 0; r < sizeof(rates_hz) / sizeof(rates_hz[0]); ++r) {
    const uint32_t n = LENGTH_S * rates_hz[r];
    for (uint32_t k = 0; k < 2 * MAX_SIGNALS; ++k) {
      fill(channels[k], n, k + 1);
    }
    for (size_t q = 0; q < sizeof(kinds) / sizeof(kinds[0]); ++q) {
      loudness_bank* const b =
        loudness_bank_new(n_channels, kinds[q], rates_hz[r]);
      uint32_t first = 0;
      add_all(b, n_channels, kinds[q], n);
      for (uint32_t i = 0; i < kinds[q]; ++i) {
        const float* const x[] = {channels[first],
                                  channels[first + n_channels[i] - 1]};
        assert_near(loudness_bank_lufs(b, i),
                    reference(x, n_channels[i], n, rates_hz[r]), 1e-6);
        first += n_channels[i];
      }
      loudness_bank_free(b);
    }
  }
}

/// No window is full, or none is above the gate
static void
silence_has_none(void** state)
{
  (void)state;
  const uint32_t       one = 1;
  static float         x[48000];
  const float* const   in[] = {x};
  signal_rows* const   rows = signal_rows_new(&one, 1);
  loudness_bank* const b    = loudness_bank_new(&one, 1, 48000.0);
  assert_true(isinf(loudness_bank_lufs(b, 0)));
  signal_rows_add(rows, 0, in, 48000);
  loudness_bank_add(b, rows, 48000);
  assert_true(isinf(loudness_bank_lufs(b, 0)));
  loudness_bank_free(b);
  signal_rows_free(rows);
}

/// Two hours of windows: memory stays, and the mean is that of all of them
static void
long_passages_keep_their_mean(void** state)
{
  (void)state;
  enum { N = 72000 };
  static double windows[N];
  gated_mean    g;
  double        sum  = 0.0;
  uint32_t      n    = 0;
  uint32_t      seed = 1;
  gated_mean_init(&g, -70.0);
  for (uint32_t i = 0; i < N; ++i) {
    // From -75 to -5 dB: some below either gate
    windows[i] = pow(10.0, -4.0 + 3.5 * (double)check_noise(&seed));
    gated_mean_add(&g, windows[i]);
    n += windows[i] >= 1e-7;
    sum += windows[i] >= 1e-7 ? windows[i] : 0.0;
  }
  assert_null(g.windows);
  const double gate = 0.1 * sum / n;
  sum               = 0.0;
  n                 = 0;
  for (uint32_t i = 0; i < N; ++i) {
    n += windows[i] >= gate;
    sum += windows[i] >= gate ? windows[i] : 0.0;
  }
  assert_near(10.0 * log10(gated_mean_power(&g)), 10.0 * log10(sum / n), 0.003);
  gated_mean_clear(&g);
}

static int
start(void** state)
{
  (void)state;
  for (uint32_t k = 0; k < 2 * MAX_SIGNALS; ++k) {
    channels[k] = malloc((size_t)LENGTH_S * MAX_RATE_HZ * sizeof(float));
    if (!channels[k]) {
      return -1;
    }
  }
  return 0;
}

static int
end(void** state)
{
  (void)state;
  for (uint32_t k = 0; k < 2 * MAX_SIGNALS; ++k) {
    free(channels[k]);
  }
  return 0;
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(is_that_of_libebur128),
    cmocka_unit_test(silence_has_none),
    cmocka_unit_test(long_passages_keep_their_mean),
  };
  return cmocka_run_group_tests_name("loudness-bank", tests, start, end);
}
